"""Build step of the wheel: of the folder of the pages it takes the pages, not the scripts."""

from __future__ import annotations

from setuptools.command.build_py import build_py


class PagesAlone(build_py):
    """Finds no modules beside the pages; what Help shows comes as data of the package."""

    def find_package_modules(self, package: str, package_dir: str) -> list[tuple[str, str, str]]:
        """Modules of a package."""
        if package == "burstwise.docs":
            return []
        found: list[tuple[str, str, str]] = super().find_package_modules(package, package_dir)
        return found
