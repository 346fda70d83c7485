package main

import (
	"fettle/compiler"
	"fettle/compiler/git"
	"fettle/lang/source"
)

// names lists what a word on the command line may be.
func names(dir, kind string) []string {
	fsys, closer, err := source.OpenFolder(dir)
	if err != nil {
		return nil
	}
	defer closer.Close()
	w := compiler.Open(fsys)
	var out []string
	switch kind {
	case "variant":
		out = w.Plan.Names()
	case "operand":
		out = append(w.Plan.Names(), revisions(dir)...)
	case "map":
		for _, m := range w.Program.Maps {
			out = append(out, m.Name)
		}
		for _, t := range w.Program.Targets {
			for _, one := range t.Tables {
				out = append(out, t.Name+"."+one.Name)
			}
		}
	case "target":
		for _, t := range w.Program.Targets {
			out = append(out, t.Name)
		}
	case "axis":
		for _, x := range w.Program.Axes {
			out = append(out, x.Name+"=")
		}
	case "rule":
		for _, r := range w.Program.Rules {
			out = append(out, r.Name)
		}
	}
	return out
}

// revisions lists the tags and branches of the workspace's repository, if it is
// in one.
func revisions(dir string) []string {
	repo, err := git.Open(dir)
	if err != nil {
		return nil
	}
	defer repo.Close()
	tags, _ := repo.Tags() // a name fewer to choose from is no fault
	branches, _ := repo.Branches()
	return append(tags, branches...)
}
