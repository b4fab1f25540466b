"""Times one logged reading, whole process, beside a bare script that inserts one row; and
`haccp --help` and the completion of a command's and of a batch's name beside importing click.

    python benchmarks/startup.py [ROUNDS]

Each runs in turn with what it is compared with, so that a busy machine slows both; the figure to
quote is the median ratio. The modules' compiled code is kept, as it is where haccp is installed.
"""

import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

BARE = """
import sys, click, sqlalchemy as sa

@click.command()
@click.argument("path")
def main(path):
    engine = sa.create_engine(f"sqlite:///{path}")
    table = sa.Table("bare", sa.MetaData(), sa.Column("id", sa.Integer, primary_key=True), sa.Column("temp", sa.Text))
    with engine.begin() as connection:
        connection.execute(sa.insert(table).values(temp="98"))

main()
"""


COMPLETING = {"_HACCP_COMPLETE": "bash_complete", "COMP_WORDS": "haccp c", "COMP_CWORD": "1"}


def seconds(command: list[str], typed: str = "", **env: str) -> float:
    kept = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    begun = time.perf_counter()
    subprocess.run(command, check=True, capture_output=True, input=typed, text=True, env=kept | env)
    return time.perf_counter() - begun


def compare(
    what: str, ours: list[str], beside: str, theirs: list[str], rounds: int, **env: str
) -> None:
    seconds(ours, **env), seconds(theirs)
    pairs = [(seconds(ours, **env), seconds(theirs)) for _ in range(rounds)]
    mine, other = (statistics.median(column) * 1000 for column in zip(*pairs, strict=True))
    ratio = statistics.median(a / b for a, b in pairs)
    print(
        f"{what} {mine:.0f} ms, {beside} {other:.0f} ms: median ratio over {rounds} pairs {ratio:.2f}"
    )


def main(rounds: int) -> None:
    haccp = [str(Path(sys.executable).with_name("haccp"))]
    with tempfile.TemporaryDirectory() as folder:
        db = f"{folder}/record.sqlite3"
        setup = "setup K --zone America/Denver --manager AR --manager-name A".split()
        seconds([*haccp, "--db", db, *setup], "2580\n2580\n")
        seconds([*haccp, "--db", db, *"batch stew --code stew --by AR".split()])
        script = Path(folder) / "bare.py"
        script.write_text(BARE)
        create = "import sqlite3, sys; sqlite3.connect(sys.argv[1]).execute('CREATE TABLE bare (id INTEGER PRIMARY KEY, temp TEXT)')"
        seconds([sys.executable, "-c", create, db])
        entry = [*haccp, "--db", db, *"cool stew 98 --yes --by AR".split()]
        compare(
            "one logged reading", entry, "bare script", [sys.executable, str(script), db], rounds
        )
        click = [sys.executable, "-c", "import click"]
        compare("haccp --help", [*haccp, "--help"], "importing click", click, rounds)
        compare("a command's name", haccp, "importing click", click, rounds, **COMPLETING)
        names = COMPLETING | {"COMP_WORDS": "haccp hold s", "COMP_CWORD": "2", "HACCP_DB": db}
        compare("a batch's name", haccp, "importing click", click, rounds, **names)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 15)
