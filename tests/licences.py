"""Refuses a dependency whose licence is not on the list below, or that does not come from the registry.

Called by tests/run. An expression passes if some choice its ORs leave us consists of listed licences alone
(SPDX expressions; the older "A/B" means "A OR B").
"""

import json
import re
import subprocess
import sys

ALLOWED = {
    "apache-2.0",
    "bsd-2-clause",
    "bsd-3-clause",
    "bsl-1.0",
    "cc0-1.0",
    "isc",
    "mit",
    "mpl-2.0",  # binds changes to its own files only: serialport, unchanged, in the bench
    "unicode-3.0",
    "unlicense",
    "zlib",
}


def allowed(expression: str) -> bool:
    """Whether an SPDX expression can be met with listed licences."""
    tokens = re.findall(r"\(|\)|[^\s()]+", expression.replace("/", " OR ").lower())

    def either() -> bool:
        result = both()
        while tokens and tokens[0] == "or":
            tokens.pop(0)
            result = both() or result
        return result

    def both() -> bool:
        result = one()
        while tokens and tokens[0] == "and":
            tokens.pop(0)
            result = one() and result
        return result

    def one() -> bool:
        token = tokens.pop(0)
        if token == "(":
            result = either()
            tokens.pop(0)
            return result
        if tokens and tokens[0] == "with":  # an exception only adds permissions
            del tokens[:2]
        return token in ALLOWED

    return either() and not tokens


for expression, expected in {
    "MIT": True,
    "GPL-3.0-only": False,
    "MIT OR GPL-3.0-only": True,
    "MIT AND GPL-3.0-only": False,
    "(MIT OR Apache-2.0) AND Unicode-3.0": True,
    "Apache-2.0 WITH LLVM-exception": True,
    "Unlicense/MIT": True,
}.items():
    assert allowed(expression) is expected, expression

metadata = json.loads(
    subprocess.run(
        ["cargo", "metadata", "--format-version", "1", "--locked"],
        check=True,
        capture_output=True,
    ).stdout
)
refused = []
for package in metadata["packages"]:
    name = f"{package['name']} {package['version']}"
    if package["source"] is None:
        if package["license"] != "MIT OR Apache-2.0":
            refused.append(f"{name}: our own licence is missing")
    elif not package["source"].endswith("/crates.io-index"):
        refused.append(f"{name}: not from the registry but {package['source']}")
    elif not allowed(package["license"] or "none"):
        refused.append(f"{name}: {package['license'] or 'no licence named'}")
if refused:
    sys.exit("\n".join(refused))
print(f"{len(metadata['packages'])} packages, all under licences on the list")
