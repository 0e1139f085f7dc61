"""Help: the guide offline, keys, about, where to report a problem, the first start."""
