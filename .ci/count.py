"""Fails when fewer tests ran than the number given, or when an engine was left out.

python .ci/count.py REPORT.xml LEAST
"""

import sys
import xml.etree.ElementTree as ET  # our own report, not a stranger's file


def main() -> int:
    """Print the tests run for each engine; give back 1 when some were lost."""
    every = ET.parse(sys.argv[1]).iter("testcase")
    cases = [case for case in every if case.find("skipped") is None]
    names = [case.get("name", "") for case in cases]
    sqlite = sum("[sqlite" in name or "-sqlite]" in name for name in names)
    postgres = sum("[postgresql" in name or "-postgresql]" in name for name in names)
    print(f"{len(names)} tests ran: {sqlite} on SQLite, {postgres} on PostgreSQL by name")
    if len(names) < int(sys.argv[2]):
        print(f"fewer than {sys.argv[2]} tests ran")
        return 1
    if not sqlite or postgres < sqlite:
        print("PostgreSQL was tested less than SQLite")
        return 1
    return 0


sys.exit(main())
