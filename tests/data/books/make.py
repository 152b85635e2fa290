"""Makes version-1.sqlite beside this file from version-1.sql."""

import pathlib
import sqlite3

folder = pathlib.Path(__file__).parent
book = folder / "version-1.sqlite"
book.unlink(missing_ok=True)
connection = sqlite3.connect(book, isolation_level=None)
connection.executescript((folder / "version-1.sql").read_text(encoding="utf-8"))
connection.close()
