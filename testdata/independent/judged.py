#!/usr/bin/env python3
"""Judges the snippets: which may stand in a source, and what they do to the maps of the tune `bench`.

    python3 judged.py

rewrites snippets/snippets.txt. Each of its lines has, parted by tabs: `ok`, `fails` (the tune does) or `refused`; the kind
(`rule`: a statement of a rule; `when`: a rule's condition; `decl`: declarations); the text, \\n for a new line; and for `ok` the
maps that aren't as in snippets/head.fettle. New snippets may be added with a ? in the first column.
"""

import json
import os
import sys
import tempfile

sys.dont_write_bytecode = True

from expect import expected

HERE = os.path.dirname(os.path.abspath(__file__))
LIST = os.path.join(HERE, "snippets", "snippets.txt")


def source(head, kind, text):
    body = {"rule": "rule r {\n  %s\n}", "when": "rule r when %s {\n  fuel += 1\n}", "decl": "%s"}[kind]
    return head + (body % text.replace("\\n", "\n")) + "\nvariant bench { }\n"


def judge(text):
    """(verdict, maps of bench)"""
    with tempfile.TemporaryDirectory() as folder:
        with open(os.path.join(folder, "tune.fettle"), "w", encoding="utf-8") as file:
            file.write(text)
        result = expected(folder, ["bench"])
    if "refused" in result:
        return "refused", {}
    bench = next(t for t in result["tunes"] if t["name"] == "bench")
    return ("fails", {}) if "error" in bench else ("ok", bench["maps"])


def main():
    sys.setrecursionlimit(10000)
    with open(os.path.join(HERE, "snippets", "head.fettle"), encoding="utf-8") as file:
        head = file.read()
    usual = judge(head + "\nvariant bench { }\n")[1]
    out = []
    with open(LIST, encoding="utf-8") as file:
        for line in file:
            _, kind, text = line.rstrip("\n").split("\t")[:3]
            verdict, maps = judge(source(head, kind, text))
            changed = {name: rows for name, rows in maps.items() if rows != usual.get(name)}
            out.append("\t".join([verdict, kind, text] + ([json.dumps(changed, separators=(",", ":"))] if changed else [])))
    with open(LIST, "w", encoding="utf-8") as file:
        file.write("\n".join(out) + "\n")


if __name__ == "__main__":
    main()
