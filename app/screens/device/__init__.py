"""Switch and drive: the device's datasheet, its curves, the drive and the protection."""
