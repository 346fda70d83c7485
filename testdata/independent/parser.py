"""Declarations: tokens of one file to a list of declarations (see fettle_ref.py)."""

from expressions import ExpressionReader, Node, parts_of
from lexer import lex, FUNCTIONS
from units import FettleError, PLAIN, parse_unit


class Decl:
    """One declaration; `kind` is its word, the other fields depend on it."""

    def __init__(self, kind, name, where, **fields):
        self.kind, self.name, self.where = kind, name, where
        self.__dict__.update(fields)


class Parser(ExpressionReader):
    def file(self):
        """Returns (uses, declarations); a use is ("module", name) or ("file", path)."""
        uses, declarations = [], []
        self.skip_lines()
        while self.token.kind != "EOF":
            word, where = self.token.text, self.where
            reader = getattr(self, "read_" + word, None) if self.token.kind == "ID" else None
            if reader is None:
                self.unexpected("a declaration")
            self.take()
            if word == "use":
                if declarations:
                    raise FettleError("`use` comes first in a file", where)
                uses.extend(reader(where))
            else:
                declaration = reader(where)
                if declaration is not None:
                    declarations.append(declaration)
            if self.is_op("}"):
                self.unexpected("the end of the line")
            self.end_of_statement()
        return uses, declarations

    def declared(self):
        name = self.name()
        if name in FUNCTIONS:
            self.fail(f"{name!r} is a built-in function")
        return name

    def unit_bracket(self, default=None):
        if self.token.kind == "UNIT":
            where = self.where
            return parse_unit(self.take().text, where)
        return default

    def block(self, reader):
        """Statements between braces, one a line."""
        statements = []
        self.expect_op("{")
        self.skip_lines()
        while not self.is_op("}"):
            if self.token.kind == "EOF":
                self.unexpected("}")
            statements.append(reader())
            self.end_of_statement()
        self.take()
        return statements

    # --- declarations, in the order of the brief's table

    def read_use(self, where):
        uses = []
        while True:
            if self.token.kind == "STR":
                uses.append(("file", self.take().text, where))
            else:
                uses.append(("module", self.name("a module or a file in quotes"), where))
            if not self.accept_op(","):
                return uses

    def read_axis(self, where):
        name, unit = self.declared(), self.unit_bracket(PLAIN)
        low, high = self.range_()
        if low is None or high is None:
            raise FettleError(f"axis {name} needs both ends of its range", where)
        return Decl("axis", name, where, unit=unit, low=low, high=high)

    def read_given(self, where):
        name = self.declared()
        if self.accept_word("from"):
            catalog = self.path().split(".")
            self.expect_op("=")
            return Decl("given", name, where, type="row", catalog=catalog, default=self.name("the name of a row"))
        unit = self.unit_bracket()
        self.expect_op("=")
        if self.is_word("yes", "no"):
            if unit is not None:
                self.fail("a yes/no condition has no unit")
            return Decl("given", name, where, type="yesno", default=self.take().text == "yes")
        default = self.bound()
        within = self.range_() if self.accept_word("within") else (None, None)
        return Decl("given", name, where, type="number", unit=unit or PLAIN, default=default, within=within)

    def read_let(self, where):
        name, unit = self.declared(), self.unit_bracket()
        self.expect_op("=")
        return Decl("let", name, where, unit=unit, expr=self.expression())

    def read_fn(self, where):
        name, params = self.declared(), []
        self.expect_op("(")
        while params or not self.is_op(")"):
            p_where = self.where        # after a comma too there must be one
            p_name, p_unit = self.declared(), self.unit_bracket(PLAIN)
            within = self.range_() if self.accept_word("within") else (None, None)
            params.append(Decl("param", p_name, p_where, unit=p_unit, within=within))
            if not self.accept_op(","):
                break
        self.expect_op(")")
        unit = self.unit_bracket()
        self.expect_op("=")
        return Decl("fn", name, where, params=params, unit=unit, expr=self.expression())

    def read_catalog(self, where):
        name = self.declared()
        if self.accept_word("from"):
            return Decl("catalog", name, where, csv=self.string(), lines=None)
        return Decl("catalog", name, where, csv=None, lines=self.raw())

    def read_curve(self, where):
        name, unit = self.declared(), self.unit_bracket(PLAIN)
        return Decl("curve", name, where, unit=unit, lines=self.raw())

    def read_map(self, where):
        name, unit = self.declared(), self.unit_bracket(PLAIN)
        if self.accept_word("to"):
            resolution = self.signed_quantity()     # it only concerns printing; this tool prints unrounded
            if resolution.number <= 0 or (resolution.unit is not None and resolution.unit.text != unit.text):
                self.fail("a resolution is a positive number in the map's unit")
        if self.accept_word("like"):
            other = self.name()
            self.expect_op("=")
            return Decl("map", name, where, unit=unit, source="like", other=other, expr=self.expression())
        if self.accept_word("from"):
            return Decl("map", name, where, unit=unit, source="csv", csv=self.string())
        return Decl("map", name, where, unit=unit, source="cells", lines=self.raw())

    def read_region(self, where):
        name = self.declared()
        self.expect_op("=")
        return Decl("region", name, where, items=self.parts())

    def read_rule(self, where):
        name, corrects, when = self.declared(), [], None
        while True:
            if self.accept_word("corrects"):
                corrects.append(self.name())
                while self.accept_op(","):
                    corrects.append(self.name())
            elif when is None and self.accept_word("when"):
                when = self.expression()
            else:
                break
        return Decl("rule", name, where, corrects=corrects, when=when, statements=self.block(self.adjustment))

    def read_limit(self, where):
        name, condition_where, when, mode = self.declared(), None, None, "fail"
        self.expect_op(":")
        self.range_allowed = True       # a limit may be a range, and nothing else may
        condition = self.expression()
        self.range_allowed = False
        if condition.kind != "range" and has_range(condition):
            raise FettleError("a range stands alone", where)
        while True:
            if condition_where is None and self.accept_word("where"):
                condition_where = self.expression()
            elif when is None and self.accept_word("when"):
                when = self.expression()
            else:
                break
        extents = self.extents() if self.accept_word("for") else []
        if self.accept_word("else"):
            if not self.is_word("warn", "clamp"):
                self.unexpected("warn or clamp")
            mode = self.take().text
        return Decl("limit", name, where, cond=condition, cell_where=condition_where, when=when, mode=mode, extents=extents)

    def extents(self):
        """The conditions over which a limit is proved, each with both its ends."""
        out = []
        while True:
            where, name = self.where, self.name()
            low, high = self.range_()
            if low is None or high is None:
                raise FettleError("a range to prove over has both its ends", where)
            out.append((where, name, low, high))
            if not self.accept_op(","):
                return out

    def read_variant(self, where):
        name = self.declared()
        base = self.path() if self.accept_word("from") else None
        return Decl("variant", name, where, base=base, statements=self.block(self.variant_line))

    def read_variants(self, where):
        declaration = self.read_variant(where)
        declaration.kind = "variants"
        return declaration

    def read_check(self, where):
        text = self.string()
        self.expect_word("with")
        pattern = self.path()
        return Decl("check", text, where, pattern=pattern, statements=self.block(self.expectation))

    def read_review(self, where):
        return Decl("review", None, where, statements=self.block(self.allowance))

    def read_caution(self, where):
        return Decl("caution", self.string(), where)

    def read_target(self, where):
        """Left out of this reading: skipped whole."""
        self.name()
        depth = 0
        while True:
            token = self.take()
            if token.kind == "EOF":
                raise FettleError("a { is not closed", where)
            if token.kind == "OP" and token.text in "{}":
                depth += 1 if token.text == "{" else -1
                if depth == 0:
                    return None

    # --- their parts

    def string(self):
        if self.token.kind == "PATH" or self.token.kind != "STR":
            self.unexpected('text in " "')
        return self.take().text

    def path(self):
        if self.token.kind not in ("PATH", "ID"):
            self.unexpected("a name")
        return self.take().text

    def raw(self):
        if self.token.kind != "RAW":
            self.unexpected("{")
        return self.take().lines

    def parts(self):
        """The comma list of `over` and of a region: ranges of axes, and names of regions."""
        items = []
        while True:
            where, name = self.where, self.name()
            ends = self.token.kind in ("NL", "EOF") or self.is_op(",", "}") or self.is_word("where", "over")
            if ends:
                items.append(Node("part", where, region=name, axis=None))
            else:
                low, high = self.range_()
                feather = self.bound() if self.accept_word("feather") else None
                items.append(Node("part", where, region=None, axis=name, low=low, high=high, feather=feather))
            if not self.accept_op(","):
                return items

    def adjustment(self):
        where, name = self.where, self.name("the name of a map")
        if not self.is_op("=", "+=", "-=", "*=", "/="):
            self.unexpected("one of = += -= *= /=")
        operator = self.take().text
        amount, over, cell_where = self.expression(), [], None
        while True:
            if not over and self.accept_word("over"):
                over = self.parts()
            elif cell_where is None and self.accept_word("where"):
                cell_where = self.expression()
            else:
                break
        if self.is_word("when"):
            self.fail("`when` belongs to the rule; what depends on the cell is `over` or `where`")
        return Node("adjust", where, map=name, op=operator, amount=amount, over=over, cell_where=cell_where)

    def variant_line(self):
        where = self.where
        if self.accept_word("except"):
            return Node("except", where, cond=self.expression())
        if self.accept_word("trim"):
            return Node("trim", where, adjust=self.adjustment())
        name = self.name("a condition")
        self.expect_op("=")
        values = [self.variant_value()]
        while self.accept_op(","):
            values.append(self.variant_value())
        return Node("set", where, given=name, values=values)

    def variant_value(self):
        """A value and its text as written, from which the name of a matrix's member is made."""
        where, start = self.where, self.place
        value = Node("yesno", where, value=self.take().text == "yes") if self.is_word("yes", "no") else self.bound()
        text = "".join(token.text for token in self.tokens[start:self.place])
        return Node("value", where, expr=value, text=text)

    def allowance(self):
        where = self.where
        self.expect_word("allow")
        name = self.name("the name of a map")
        self.expect_op("=")
        return Node("allow", where, map=name, op="+=", amount=self.bound())

    def expectation(self):
        where, expr = self.where, self.expression()
        tolerance = self.sum() if self.accept_op("+-") else None
        return Node("expect", where, expr=expr, tolerance=tolerance)


def has_range(node):
    return node.kind == "range" or any(has_range(part) for part in parts_of(node))


def parse(source, filename):
    return Parser(lex(source, filename), filename).file()
