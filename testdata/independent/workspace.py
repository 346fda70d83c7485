"""Reading a workspace: its files, standard-library modules, and the names they declare (see fettle_ref.py)."""

import os
from grids import build_catalog, build_curve, build_grid, cells_from_lines, read_csv
from parser import parse
from units import FettleError

MODULE_KINDS = {"fn", "let", "catalog", "curve"}


class Namespace:
    """Names of the workspace, or those of one module; `modules` are reached as module.name."""

    def __init__(self, label):
        self.label, self.names, self.modules = label, {}, {}

    def declare(self, name, declaration):
        if name in self.names or name in self.modules:
            raise FettleError(f"{name!r} is declared twice", declaration.where)
        declaration.ns = self
        self.names[name] = declaration


class Workspace:
    def __init__(self, folder, stdlib):
        self.folder, self.stdlib = os.path.abspath(folder), stdlib
        self.space = Namespace("workspace")
        self.ordered = []           # declarations in the order written, a used file first
        self.loaded_modules, self.read_files = {}, {}
        self.read(os.path.join(self.folder, "tune.fettle"), None)
        for declaration in self.ordered:
            if declaration.kind not in ("check", "review", "caution"):
                self.space.declare(declaration.name, declaration)
        for declaration in self.ordered:
            for param in getattr(declaration, "params", ()):
                if param.name in self.space.names or param.name in self.space.modules:
                    raise FettleError(f"parameter {param.name!r} is already a name of the workspace", param.where)
        for name in self.space.modules:
            if name in self.space.names:
                raise FettleError(f"{name!r} is a module too", self.space.names[name].where)

    def of_kind(self, *kinds):
        return [d for d in self.ordered if d.kind in kinds]

    # --- files

    def read(self, path, where):
        path = os.path.normpath(path)
        state = self.read_files.get(path)
        if state == "reading":
            raise FettleError(f"{os.path.basename(path)} uses itself", where)
        if state == "read":
            return
        self.read_files[path] = "reading"
        shown = os.path.relpath(path, self.folder)
        uses, declarations = parse(read_text(path, where), shown)
        for kind, name, use_where in uses:
            if kind == "file":
                self.read(self.inside(path, name, use_where), use_where)
            else:
                self.space.modules[name] = self.module(name, use_where)
        for declaration in declarations:
            self.ordered.append(declaration)
            declaration.file, declaration.filename = path, shown
            if declaration.kind == "catalog":
                self.fill_catalog(declaration, path, shown)
            elif declaration.kind == "curve":
                fill_curve(declaration, shown)
        self.read_files[path] = "read"

    def inside(self, path, name, where):
        """A path is relative to the file that names it, and stays in the workspace."""
        target = os.path.normpath(os.path.join(os.path.dirname(path), name))
        if os.path.isabs(name) or os.path.relpath(target, self.folder).split(os.sep)[0] == "..":
            raise FettleError(f"{name} lies outside the workspace", where)
        return target

    def module(self, name, where):
        found = self.loaded_modules.get(name)
        if found == "reading":
            raise FettleError(f"module {name} uses itself", where)
        if found:
            return found
        path = os.path.join(self.stdlib, name + ".fettle")
        if not os.path.exists(path):
            raise FettleError(f"no module {name!r} in the standard library", where)
        self.loaded_modules[name] = "reading"
        space, shown = Namespace(name), name + ".fettle"
        uses, declarations = parse(read_text(path, where), shown)
        for kind, used, use_where in uses:
            if kind == "file":
                raise FettleError("a module uses modules only", use_where)
            space.modules[used] = self.module(used, use_where)
        for declaration in declarations:
            if declaration.kind not in MODULE_KINDS:
                raise FettleError(f"a module can't hold a {declaration.kind}", declaration.where)
            if declaration.kind == "catalog":
                self.fill_catalog(declaration, path, shown)
            elif declaration.kind == "curve":
                fill_curve(declaration, shown)
            space.declare(declaration.name, declaration)
        for declaration in declarations:
            for param in getattr(declaration, "params", ()):
                if param.name in space.names or param.name in space.modules:
                    raise FettleError(f"parameter {param.name!r} is already a name of the module", param.where)
        self.loaded_modules[name] = space
        return space

    # --- tables

    def fill_catalog(self, declaration, path, shown):
        if declaration.csv is not None:
            rows = read_csv(self.inside(path, declaration.csv, declaration.where), declaration.where)
        else:
            rows = [(f"{shown}:{line}", [cell.strip() for cell in text.split("|")]) for line, text in declaration.lines]
            if not rows:
                raise FettleError("a catalogue without rows", declaration.where)
        declaration.columns, declaration.rows = build_catalog(rows, declaration.where)

    def build_maps(self, axes):
        """Grids of the maps given by cells, then the shapes of those that are `like` another."""
        maps = {d.name: d for d in self.of_kind("map")}
        for d in maps.values():
            d.grid = None
            if d.source == "cells":
                if not d.lines:
                    raise FettleError("a grid without cells", d.where)
                d.grid = build_grid(cells_from_lines(d.lines, d.filename), d.unit, axes, "_")
            elif d.source == "csv":
                d.grid = build_grid(read_csv(self.inside(d.file, d.csv, d.where), d.where), d.unit, axes, "")

        def shape(name, path, where):
            if name not in maps:
                raise FettleError(f"{name!r} is not a map", where)
            if name in path:
                raise FettleError("maps like each other in a circle: " + ", ".join(path), where)
            d = maps[name]
            return d.grid if d.grid is not None else shape(d.other, path + [name], d.where)

        for d in maps.values():
            d.shape = shape(d.name, [], d.where)
        return maps


def fill_curve(declaration, shown):
    if not declaration.lines:
        raise FettleError("a grid without cells", declaration.where)
    declaration.over, declaration.grid = build_curve(cells_from_lines(declaration.lines, shown), declaration.unit)


def read_text(path, where):
    try:
        with open(path, encoding="utf-8-sig", newline="") as file:
            text = file.read().replace("\r\n", "\n")
    except OSError as error:
        raise FettleError(f"can't read {os.path.basename(path)}: {error.strerror}", where)
    except UnicodeDecodeError:
        raise FettleError(f"{os.path.basename(path)} is not UTF-8", where)
    if "\r" in text:
        raise FettleError(f"{os.path.basename(path)} has a carriage return that ends no line", where)
    return text
