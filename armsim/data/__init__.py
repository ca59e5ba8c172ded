"""Generic tables, read by the scenario floor; evidence and standard stand in each file."""
