"""What leaves the desk: parts, drawing, winding plan, build sheet, power-up plan, export."""
