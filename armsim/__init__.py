"""armsim: will this motor raise this arm, how fast, with what current, and how sure is that."""

__version__ = "0.1.0"
