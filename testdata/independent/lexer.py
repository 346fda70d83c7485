"""Words of the language: text in, a list of tokens out (see fettle_ref.py).

A newline is a token except inside ( ), after an operator, a comma, a colon or `=` and its kin.
The braces of a `map`, a `curve` or a `catalog` come back as one RAW token holding (line number, text) pairs, comments removed.
"""

import re
from units import FettleError

KEYWORDS = set("""use axis given let fn catalog curve map region rule limit variant variants target check review caution trim except
from within like to over where when corrects feather else warn with for if then and or not is yes no""".split())
FUNCTIONS = set("min max clamp abs sqrt exp log round floor ceil step".split())

NUMBER = re.compile(r"[0-9]+(\.[0-9]+)?([eE][+-]?[0-9]+)?")
IDENT = re.compile(r"[A-Za-z][A-Za-z0-9_]*")
PATH = re.compile(r"[A-Za-z0-9_./*?-]+")
OPERATORS = ["+-", "+=", "-=", "*=", "/=", "==", "!=", "<=", ">=", "..",
             "<", ">", "=", "+", "-", "*", "/", "^", "(", ")", "{", "}", ",", ".", ":", "%"]
GOES_ON = {"+", "-", "*", "/", "^", "==", "!=", "<", "<=", ">", ">=", "=", "+=", "-=", "*=", "/=", ",", ":", "+-"}
GOES_ON_WORDS = {"and", "or", "not", "is", "then", "else", "if"}


class Token:
    __slots__ = ("kind", "text", "line", "pos", "lines")

    def __init__(self, kind, text, line, pos, lines=None):
        self.kind, self.text, self.line, self.pos, self.lines = kind, text, line, pos, lines

    def __repr__(self):
        return f"{self.kind}:{self.text!r}@{self.line}"


def lex(source, filename):
    tokens, pos, line, parens, braces = [], 0, 1, 0, 0
    first = None        # first word of the statement that is being read
    size = len(source)

    def fail(message):
        raise FettleError(message, f"{filename}:{line}")

    def add(kind, text, at, lines=None):
        nonlocal first
        if first is None and kind != "NL":
            first = text
        tokens.append(Token(kind, text, line, at, lines))

    while pos < size:
        char = source[pos]
        if char == "\n":
            last = tokens[-1] if tokens else None
            on = parens > 0 or last is None or last.kind == "NL" \
                or (last.kind == "OP" and last.text in GOES_ON) \
                or (last.kind == "ID" and last.text in GOES_ON_WORDS)
            if not on:
                add("NL", "\n", pos)
                if braces == 0:
                    first = None
            line += 1
            pos += 1
        elif char in " \t\r":
            pos += 1
        elif char == "#":
            while pos < size and source[pos] != "\n":
                pos += 1
        elif char == '"':
            end = source.find('"', pos + 1)
            if end < 0 or "\n" in source[pos:end]:
                fail('a " is not closed')
            add("STR", source[pos + 1:end], pos)
            pos = end + 1
        elif char == "[":
            end = source.find("]", pos)
            if end < 0 or "\n" in source[pos:end]:
                fail("a [ is not closed")
            add("UNIT", source[pos + 1:end].strip(), pos)
            pos = end + 1
        elif tokens and tokens[-1].kind == "ID" and tokens[-1].text in ("from", "with") and PATH.match(source, pos):
            text = PATH.match(source, pos).group()
            add("PATH", text, pos)
            pos += len(text)
        elif char.isdigit():
            text = NUMBER.match(source, pos).group()
            add("NUM", text, pos)
            pos += len(text)
        elif IDENT.match(source, pos):
            text = IDENT.match(source, pos).group()
            add("ID", text, pos)
            pos += len(text)
        elif char == "{" and first in ("map", "catalog", "curve") and braces == 0:
            start_line = line
            end, lines, current, comment = pos + 1, [], [], False
            while True:
                if end >= size:
                    fail("a { is not closed")
                c = source[end]
                if c == "\n":
                    lines.append((line, "".join(current).strip()))
                    current, comment = [], False
                    line += 1
                elif comment:
                    pass
                elif c == "#":
                    comment = True
                elif c == "}":
                    break
                else:
                    current.append(c)
                end += 1
            lines.append((line, "".join(current).strip()))
            tokens.append(Token("RAW", "{", start_line, pos, [entry for entry in lines if entry[1]]))
            pos = end + 1
        else:
            for operator in OPERATORS:
                if source.startswith(operator, pos):
                    break
            else:
                fail(f"unexpected character {char!r}")
            add("OP", operator, pos)
            pos += len(operator)
            parens += {"(": 1, ")": -1}.get(operator, 0)
            braces += {"{": 1, "}": -1}.get(operator, 0)
            if parens < 0 or braces < 0:
                fail(f"{operator} closes nothing")
    if parens or braces:
        fail("a bracket is not closed")
    tokens.append(Token("NL", "\n", line, pos))
    tokens.append(Token("EOF", "", line, pos))
    return tokens
