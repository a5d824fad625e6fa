"""Helpers beside these tests can be imported by them; a browser for the tests that need one."""

from __future__ import annotations

import shutil
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

sys.path.insert(0, str(Path(__file__).parent))

NAMES = ("chromium", "chromium-browser", "google-chrome")


@pytest.fixture(scope="session")
def chromium() -> Iterator[Any]:
    """A headless browser; the tests that need it say so where there is none."""
    path = next((found for name in NAMES if (found := shutil.which(name))), None)
    if path is None:
        pytest.skip("no Chromium on this machine")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=["--no-sandbox"])
        yield browser
        browser.close()
