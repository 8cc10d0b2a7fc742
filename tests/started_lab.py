"""What a started ``carve lab`` says."""

import re
import subprocess


def address_of(process: subprocess.Popen[str]) -> str:
    """Where it is open, once it says so."""
    assert process.stdout is not None
    said = ""
    for line in process.stdout:
        said += line
        if found := re.search(r"http://localhost\S+", line):
            return found[0]
    raise AssertionError(f"carve lab ended without an address:\n{said}")
