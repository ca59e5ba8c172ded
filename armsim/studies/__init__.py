"""Questions asked of scenarios: one machine assessed whole."""
