"""Operating point: supply, duty and interrupter frequency by hand, and what follows from them."""
