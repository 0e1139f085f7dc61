"""Compare screen: designs and variants side by side."""
