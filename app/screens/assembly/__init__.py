"""Build screen: circuit, parts, first power-up and every number explained."""
