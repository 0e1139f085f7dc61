"""Device classes that come with the program, as data with where their figures are from."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from burstwise.core.design.device import CapacitanceKind, Device


@dataclass(frozen=True, slots=True)
class DeviceClass:
    """A class of device.

    Attributes
    ----------
    technology, package : str
        In words.
    provenance : str
        Where its figures come from.
    device : Device
        Typical figures.
    """

    technology: str
    package: str
    provenance: str
    device: Device

    @property
    def name(self) -> str:
        """Name of the class."""
        return self.device.name


@cache
def device_classes() -> tuple[DeviceClass, ...]:
    """All device classes, by voltage rating.

    Examples
    --------
    >>> len(device_classes()) >= 12
    True
    """
    text = (files("burstwise.resources") / "devices" / "classes.json").read_text(encoding="utf-8")
    found = [
        DeviceClass(
            entry["technology"],
            entry["package"],
            entry["provenance"],
            Device.model_validate(entry["device"]),
        )
        for entry in json.loads(text)
    ]
    return tuple(sorted(found, key=lambda item: (item.device.drain_voltage_rating, item.name)))


def devices_by_name() -> Mapping[str, Device]:
    """Devices of all classes by name."""
    return {item.name: item.device for item in device_classes()}


def class_of(device: Device) -> DeviceClass:
    """Class that a device belongs to: the one of its name, else the nearest.

    Nearest by voltage rating and on-resistance, each as the logarithm of their ratio, among those
    whose technology the device's name has in it, if any.

    Examples
    --------
    >>> class_of(Device(name="mine", drain_voltage_rating=620)).name
    '600 V, 4 A planar, full-pack'
    >>> class_of(Device(name="my superjunction", drain_voltage_rating=620)).technology
    'superjunction'
    """

    def apart(item: DeviceClass) -> float:
        volts = device.drain_voltage_rating / item.device.drain_voltage_rating
        ohms = device.on_resistance / item.device.on_resistance
        return 2.0 * abs(math.log(volts)) + 0.5 * abs(math.log(ohms))

    for item in device_classes():
        if item.name == device.name:
            return item
    named = [item for item in device_classes() if item.technology in device.name.lower()]
    return min(named or device_classes(), key=apart)


def typical_law(device: Device) -> CapacitanceKind:
    """How the capacitances of a device's class usually fall with voltage."""
    return class_of(device).device.capacitance_law
