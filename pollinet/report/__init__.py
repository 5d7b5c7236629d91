"""A study → pages to print: the report, labels and the list of scions."""
