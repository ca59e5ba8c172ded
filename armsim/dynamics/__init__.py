"""The machine in time: modes, events, the exact run, and what it leaves behind."""
