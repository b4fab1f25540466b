"""Times one logged reading, whole process, beside a bare script that inserts one row.

    python benchmarks/startup.py [ROUNDS]

The two run in turn, so that a busy machine slows both; the figure to quote is the median ratio.
"""

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


def seconds(command: list[str], typed: str = "") -> float:
    begun = time.perf_counter()
    subprocess.run(command, check=True, capture_output=True, input=typed, text=True)
    return time.perf_counter() - begun


def main(rounds: int) -> None:
    with tempfile.TemporaryDirectory() as folder:
        db = f"{folder}/record.sqlite3"
        haccp = [str(Path(sys.executable).with_name("haccp")), "--db", db]
        setup = "setup K --zone America/Denver --manager AR --manager-name A".split()
        seconds([*haccp, *setup], "2580\n2580\n")
        seconds([*haccp, *"batch stew --code stew --by AR".split()])
        script = Path(folder) / "bare.py"
        script.write_text(BARE)
        create = "import sqlite3, sys; sqlite3.connect(sys.argv[1]).execute('CREATE TABLE bare (id INTEGER PRIMARY KEY, temp TEXT)')"
        seconds([sys.executable, "-c", create, db])
        entry = [*haccp, *"cool stew 98 --yes --by AR".split()]
        bare = [sys.executable, str(script), db]
        seconds(entry), seconds(bare)
        pairs = [(seconds(entry), seconds(bare)) for _ in range(rounds)]
    ours, theirs = (statistics.median(column) for column in zip(*pairs, strict=True))
    ratio = statistics.median(a / b for a, b in pairs)
    print(f"one logged reading {ours * 1000:.0f} ms, bare script {theirs * 1000:.0f} ms")
    print(f"median ratio over {rounds} pairs: {ratio:.2f}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 15)
