package main

import (
	"fmt"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"fettle/compiler/merge"
	"fettle/compiler/merge/meaning"
	"fettle/lang/diag"
	"fettle/lang/source"
)

func (a *app) mergeCommand() *cobra.Command {
	var size int
	var path, output string
	c := command("merge BASE OURS THEIRS", "Merge two edits of a source or a CSV table by cells and rules; git's merge driver",
		`Merges OURS and THEIRS, which both began as BASE, and writes the result over
OURS. Tables are merged by cell, rules by adjustment, variants by setting. What
both sides changed in different ways stands between markers, and the status is
1. Without a conflict in the text the workspace is compiled as it will be after
the merge: if a limit or check fails then that holds on both sides, that is a
conflict too, and the result has no markers. A file that can't be read is merged
by its lines.

`+"`fettle git setup`"+` makes git run this for sources and tables. Git asks it only
for files that both sides changed: after a merge, `+"`fettle check`"+` looks at all.`,
		"  fettle merge -o merged.csv base_fuel.csv out/bench/fuel.csv base_fuel.csv",
		cobra.ExactArgs(3), func(_ *cobra.Command, args []string) error {
			if size < 1 || size > 1000 {
				return wrong("--marker-size is the length of a marker, 7 if nothing else is said")
			}
			return a.merge(args, path, output, size)
		})
	c.Flags().IntVar(&size, "marker-size", 7, "the length of the conflict markers, in `N` characters")
	c.Flags().StringVar(&path, "path", "", "the file's name in the repository: `PATH`, as git gives it")
	c.Flags().StringVarP(&output, "output", "o", "", "write `FILE` and leave OURS as it is")
	return c
}

func (a *app) merge(files []string, path, output string, size int) error {
	f := meaning.File{Path: filepath.ToSlash(path), On: files[1], Environ: os.Environ(), Dir: a.dir}
	for i, name := range files {
		b, err := source.ReadLocal(name)
		if err != nil {
			return wrong("%v", err)
		}
		f.Versions[i] = string(b)
	}
	scene := meaning.Find(f)
	defer scene.Close()
	name := path
	if name == "" {
		name = files[1]
	}
	r := merge.Texts(f.Versions[0], f.Versions[1], f.Versions[2], merge.Options{Path: name, MarkerSize: size, Units: scene.Units()})
	if output == "" {
		output = files[1]
	}
	if err := source.Replace(output, r.Text); err != nil {
		return wrong("%v", err)
	}
	say := func(format string, args ...any) { fmt.Fprintln(a.err, diag.Clean(fmt.Sprintf(format, args...))) }
	if r.ByLine != "" {
		say("%s: merged by line: %s", name, r.ByLine)
	}
	for _, n := range r.Notes {
		say("%s: %s", name, n)
	}
	if n := len(r.Conflicts); n > 0 {
		say("%s: %s", name, diag.Counted(n, "conflict"))
		for _, c := range r.Conflicts {
			say("  %s", c)
		}
		return no
	}
	v := scene.Judge(r.Text)
	if v.Unjudged != "" {
		say("%s: merged, and not compiled with the rest: %s", name, v.Unjudged)
	}
	if len(v.Conflict) == 0 {
		return nil
	}
	say("%s: a conflict of meaning: each side holds by itself, and the two together don't", name)
	for _, c := range v.Conflict {
		say("  %s", c)
	}
	for _, side := range []struct {
		name  string
		edits []string
	}{{"ours", v.Ours}, {"theirs", v.Theirs}} {
		for _, e := range side.edits {
			say("  %-6s changed %s", side.name, e)
		}
	}
	if path != "" {
		say("  the merged text stands there without markers: see what is right, then `git add` it")
	}
	return no
}
