"""How results are dressed: terminal text, JSON, figures, Markdown; the only floor that writes files."""
