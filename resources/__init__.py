"""Data files of Burstwise: device classes, tables, examples, lessons."""
