"""Diagrams of the pages, one function each."""
