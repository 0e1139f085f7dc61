"""The design document: frozen, validated, nested by part."""
