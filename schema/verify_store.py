"""Is every fact of this store still what was sealed?  A second opinion on `endgate verify`.

    python3 schema/verify_store.py FOLDER

Written from schema/README.md alone, with the standard library.  Recomputes leaf and head of every
fact, reads it by the grammar of the canonical bytes, compares its columns, and, when the module
`nacl` is there, checks the signatures.  Ends with 0, or 1 and the first fact that is not sealed.
"""

import functools
import hashlib
import sqlite3
import struct
import sys

try:
    import nacl.signing as SIGNATURES
except ImportError:
    SIGNATURES = None


class Reader:
    """Canonical bytes: a type byte and a big-endian value; a group or list is a Python list."""

    def __init__(self, data):
        self.data, self.at = data, 0

    def take(self, count):
        self.at += count
        if self.at > len(self.data):
            raise ValueError("bytes end early")
        return self.data[self.at - count:self.at]

    def number(self, form):
        return struct.unpack(">" + form, self.take(struct.calcsize(">" + form)))[0]

    def value(self):
        kind = self.number("B")
        if kind <= 3:  # missing, boolean, integer, real
            return self.number("?qd"[kind - 1]) if kind else None
        if kind in (4, 5):  # text, bytes
            part = self.take(self.number("I"))
            return part.decode("utf-8") if kind == 4 else part
        if kind in (6, 7):  # list, group
            return [self.value() for _ in range(self.number("I"))]
        raise ValueError("no such type byte")


# Each kind's own table and its columns, with the path of each through the fields of the fact.
TABLES = {
    1: "opened store_id=0 public_key=1",
    2: "definition kind=0 subject=1 version=2 text_sha256=4",
    3: "start serial=0 attempt=1 model=2 bench=3 batch=4 purpose=5 started_utc_ms=8.0",
    4: "record start_position=0 serial=1.0 attempt=1.1 model=1.2 bench=1.3 batch=1.4 purpose=1.5"
       " started_utc_ms=1.8.0 verdict=2 standing=3 trace_sha256=19 trace_file=20"
       " finished_utc_ms=21.0",
    5: "repair serial=0 at_utc_ms=4.0",
    6: "bench_event bench=0 code=1 at_utc_ms=3.0",
    7: "lots subject_kind=0 subject=1 at_utc_ms=5.0",
    8: "disposition serial=0 decision=1 at_utc_ms=5.0",
    9: "return_intake serial=0 at_utc_ms=6.0",
    10: "alarm opened=0 bench=1 code=2 state=3 at_utc_ms=9.0",
    11: "imported_test source=0 line=1 serial=2 model=3 bench=4 batch=5 tested_utc_ms=8",
    12: "trace_removed record=0 at_utc_ms=5.0",
    13: "bench_check bench=0 kind=1 subject=2 outcome=5 at_utc_ms=8.0",
    14: "withdrawal withdrawn=0 at_utc_ms=4.0",
}


def many_rows(kind, fields):
    if kind == 4:
        return "metric, value, u FROM metric", sorted(tuple(m[:3]) for m in fields[10])
    return ("part, lot FROM lot", sorted(map(tuple, fields[2]))) if kind == 7 else None


def check_columns(store, position, kind, fields):
    table, *paths = TABLES[kind].split()
    columns = dict(path.split("=") for path in paths)
    sql = "SELECT %s FROM %s WHERE position = ?" % (", ".join(columns), table)
    key = (position,)
    if table == "start":  # found by serial and attempt
        sql, key = sql + " AND serial = ? AND attempt = ?", (position, fields[0], fields[1])
    row = store.execute(sql, key).fetchone()
    for (name, path), value in zip(columns.items(), row or [ValueError] * len(columns)):
        expected = functools.reduce(lambda value, index: value[int(index)], path.split("."), fields)
        if value != (expected or position if name == "opened" else expected):
            raise ValueError("column %s of table %s says something else" % (name, table))
    many = many_rows(kind, fields)
    if many and many[1] != sorted(store.execute("SELECT %s WHERE position = ?" % many[0],
                                                (position,))):
        raise ValueError("%s says something else" % many[0])


def check_signatures(store, position, head, opened):
    for signed, key, signature in store.execute(
            "SELECT head, public_key, signature FROM signed_head WHERE position = ?", (position,)):
        if signed != head or key != opened[1]:
            raise ValueError("the signed head or its key is another")
        if SIGNATURES:
            message = b"\x02" + opened[0] + struct.pack(">Q", position) + head
            SIGNATURES.VerifyKey(key).verify(message, signature)


def verify(folder):
    store = sqlite3.connect("file:%s/records.db?mode=ro" % folder, uri=True)
    store.execute("BEGIN")
    head, last, opened, kinds = bytes(32), 0, None, dict.fromkeys(TABLES, 0)
    for position, kind, data, stored in store.execute(
            "SELECT position, kind, bytes, head FROM fact ORDER BY position"):
        last += 1
        try:
            if position != last:
                raise ValueError("the numbering has a gap")
            sealed = struct.pack(">Q", position) + hashlib.sha256(b"\x00" + data).digest()
            head = hashlib.sha256(b"\x01" + head + sealed).digest()
            if head != stored:
                raise ValueError("bytes do not match their hash")
            reader = Reader(data)
            if (reader.number("H"), reader.number("H")) != (1, kind):
                raise ValueError("column kind says something else than the sealed bytes")
            fields = []
            while reader.at < len(data):
                fields.append(reader.value())
            opened = fields if kind == 1 else opened
            kinds[kind] += 1
            check_columns(store, position, kind, fields)
            check_signatures(store, position, head, opened)
        except Exception as error:  # whatever is wrong, it is this fact
            return last, head, "first bad fact: position %d: %s" % (last, error)
    if last == 0 or store.execute("SELECT MAX(position) FROM signed_head").fetchone()[0] > last:
        return last, head, "first bad fact: position %d: signed and gone" % (last + 1)
    version = store.execute("PRAGMA user_version").fetchone()[0]  # an older one lacks tables
    for kind, spec in list(TABLES.items())[:{1: 6, 2: 13}.get(version)]:
        if store.execute("SELECT COUNT(*) FROM " + spec.split()[0]).fetchone()[0] != kinds[kind]:
            return last, head, "table %s has rows that belong to no fact" % spec.split()[0]
    if store.execute("PRAGMA integrity_check(1)").fetchone()[0] != "ok":
        return last, head, "SQLite finds the file damaged"
    return last, head, ""


if __name__ == "__main__":
    try:
        count, newest, wrong = verify(sys.argv[1])
    except sqlite3.DatabaseError as fault:
        count, newest, wrong = 0, bytes(32), "SQLite finds the file damaged: %s" % fault
    print("facts: %d\nhead: %s" % (count, newest.hex()))
    print(wrong or "every fact is what was sealed")
    if not SIGNATURES:
        print("signatures not checked: install python3-nacl for that", file=sys.stderr)
    sys.exit(1 if wrong else 0)
