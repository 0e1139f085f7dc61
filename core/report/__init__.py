"""A design on paper: sheet, comparison, lists and pictures, and the commands that write them."""
