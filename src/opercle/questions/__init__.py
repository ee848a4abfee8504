"""One module and its query files for each question."""
