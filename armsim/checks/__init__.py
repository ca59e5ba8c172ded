"""Judgement: what a machine at rest or a run means for the person who must build it."""
