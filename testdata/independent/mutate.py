#!/usr/bin/env python3
"""Small random faults in workspaces, to see which of them each of two readings refuses.

    python3 mutate.py OUTDIR SEED EACH WORKSPACE...

writes EACH copies of every WORKSPACE into OUTDIR, each with one change in its tune.fettle (now and then two). Some of the
changes leave a good source behind; then its values can be compared like any other's.
"""

import os
import random
import re
import shutil
import sys

sys.dont_write_bytecode = True

UNITS = ["mg", "g", "deg", "rev", "rpm", "%", "[rev/s]", "kPa", "psi", "degC", "degF", "K", "m", "ft", "ms", "s", "[kg/m^3]", "[g/min]", "[1/s]"]
OPERATORS = ["=", "+=", "-=", "*=", "/=", "==", "!=", "<=", ">=", "<", ">", "+", "-", "*", "/", "^", "..", ",", "(", ")", "."]
WORDS = ["and", "or", "not", "is", "if", "then", "else", "over", "where", "when", "for", "feather", "within", "from", "like", "trim", "except", "warn",
         "clamp", "yes", "no", "to", "corrects", "min", "max", "step", "abs", "sqrt", "map", "rule"]
NUMBERS = ["0", "1", "-1", "5.", ".5", "1e9", "1e-3", "100 %", "0x10", "1_000", "1,5", "50 %", "3 mg", "20 degC", "5 K", "9000 rpm", "2 ^ 2", "_"]
TOKEN = re.compile(r'#[^\n]*|"[^"\n]*"|\[[^\]\n]*\]|[A-Za-z_][A-Za-z0-9_]*|\d+(?:\.\d+)?(?:[eE][+-]?\d+)?|\.\.|[-+*/=!<>]=|\s+|.')


class Mutation:
    def __init__(self, rng, text):
        self.rng, self.tokens = rng, TOKEN.findall(text)
        self.names = sorted({t for t in self.tokens if re.fullmatch(r"[a-z][a-z0-9_]*", t)})

    def places(self, test):
        return [i for i, t in enumerate(self.tokens) if test(t)]

    def one(self, test):
        found = self.places(test)
        return self.rng.choice(found) if found else None

    def change(self):
        kinds = [self.drop_unit, self.other_unit, self.other_name, self.typo, self.drop, self.twice, self.swap, self.other_operator,
                 self.other_number, self.other_word, self.drop_line, self.double_line, self.number_for_name, self.name_for_number, self.insert]
        for _ in range(20):
            if self.rng.choice(kinds)():
                return

    def put(self, i, text):
        if i is None:
            return False
        self.tokens[i] = text
        return True

    def is_unit(self, t):
        return t in UNITS or t.startswith("[")

    def drop_unit(self):
        return self.put(self.one(self.is_unit), "")

    def other_unit(self):
        i = self.one(self.is_unit)
        unit = self.rng.choice(UNITS)
        if i is not None and self.tokens[i].startswith("[") and not unit.startswith("["):
            unit = f"[{unit}]"
        return self.put(i, unit)

    def is_name(self, t):
        return t in self.names

    def other_name(self):
        return self.put(self.one(self.is_name), self.rng.choice(self.names))

    def typo(self):
        i = self.one(self.is_name)
        return i is not None and self.put(i, self.rng.choice([self.tokens[i] + "x", self.tokens[i][:-1], self.tokens[i].upper(), self.tokens[i] + "_1"]))

    def is_text(self, t):
        return bool(t.strip())

    def drop(self):
        return self.put(self.one(self.is_text), "")

    def twice(self):
        i = self.one(self.is_text)
        return self.put(i, self.tokens[i] + " " + self.tokens[i])

    def swap(self):
        found = self.places(self.is_text)
        k = self.rng.randrange(len(found) - 1)
        i, j = found[k], found[k + 1]
        self.tokens[i], self.tokens[j] = self.tokens[j], self.tokens[i]
        return True

    def other_operator(self):
        return self.put(self.one(lambda t: t in OPERATORS), self.rng.choice(OPERATORS))

    def is_number(self, t):
        return t[:1].isdigit()

    def other_number(self):
        return self.put(self.one(self.is_number), self.rng.choice(NUMBERS))

    def other_word(self):
        return self.put(self.one(lambda t: t in WORDS), self.rng.choice(WORDS))

    def number_for_name(self):
        return self.put(self.one(self.is_name), self.rng.choice(NUMBERS))

    def name_for_number(self):
        return self.put(self.one(self.is_number), self.rng.choice(self.names))

    def insert(self):
        i = self.one(self.is_text)
        return self.put(i, self.tokens[i] + " " + self.rng.choice(OPERATORS + WORDS + NUMBERS + UNITS))

    def lines(self):
        return "".join(self.tokens).split("\n")

    def set_lines(self, lines):
        self.tokens = TOKEN.findall("\n".join(lines))
        return True

    def drop_line(self):
        lines = self.lines()
        del lines[self.rng.randrange(len(lines))]
        return self.set_lines(lines)

    def double_line(self):
        lines = self.lines()
        i = self.rng.randrange(len(lines))
        lines.insert(self.rng.randrange(len(lines)) if self.rng.random() < 0.5 else i, lines[i])
        return self.set_lines(lines)


def main():
    out, seed, each, workspaces = sys.argv[1], int(sys.argv[2]), int(sys.argv[3]), sys.argv[4:]
    rng = random.Random(seed)
    for workspace in workspaces:
        with open(os.path.join(workspace, "tune.fettle"), encoding="utf-8") as file:
            text = file.read()
        for k in range(each):
            mutation = Mutation(rng, text)
            mutation.change()
            if rng.random() < 0.1:
                mutation.change()
            folder = os.path.join(out, f"{os.path.basename(workspace.rstrip('/'))}-{seed}-{k:03d}")
            shutil.copytree(workspace, folder, ignore=shutil.ignore_patterns("expected.json"))
            with open(os.path.join(folder, "tune.fettle"), "w", encoding="utf-8") as file:
                file.write("".join(mutation.tokens))


if __name__ == "__main__":
    main()
