"""Writes `guards.AS_MADE` anew, from a server made for it: `python -m tests.guards` after a migration.

Read what it changes before it is committed: it takes whatever the migrations make for right.
"""

import re
from pathlib import Path
from unittest.mock import patch

from haccp.record import guards, server
from tests import servers


def main() -> None:
    # which refuses what is not as it was made before
    with patch.object(server, "problems_of", lambda _: []):
        running = servers.made()
    try:
        with server.as_superuser(running.as_superuser) as connection:
            made = guards.guards(connection)
    finally:
        servers.ended(running)
    lines = [f'    "{name}": "{digest}",\n' for name, digest in sorted(made.items())]
    file = Path(guards.__file__)
    file.write_text(
        re.sub(
            r"(?s)(^AS_MADE[^\n]*\{\n).*?(^\})",
            lambda found: found[1] + "".join(lines) + found[2],
            file.read_text(),
            flags=re.MULTILINE,
        )
    )


if __name__ == "__main__":
    main()
