"""Small widgets that the screens are composed of; none of them does physics."""
