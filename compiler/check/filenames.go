package check

import (
	"fettle/lang/diag"
	"fettle/lang/source"
)

// fileNames looks at the names that become those of files and folders, on whatever
// system the tunes are built: Windows keeps some for devices, and what is written
// there is gone.
func (c *checker) fileNames() {
	look := func(name string, at source.Span) {
		if source.IsDevice(name) {
			TellDevice(c.errs, name, at)
		}
	}
	for _, m := range c.p.Maps {
		look(m.Name, m.decl.Name.Span)
	}
	for _, v := range c.p.Variants {
		look(v.Name, v.Span)
	}
	for _, t := range c.p.Targets {
		look(t.Name, t.Span)
		for _, spec := range t.Tables {
			if spec.Name != spec.Map.Name {
				look(spec.Name, spec.Span)
			}
		}
	}
	for _, b := range c.p.Bundles {
		look(b.Name, b.Span)
	}
}

// TellDevice reports the name of a device in a name that an output's file or folder
// would have.
func TellDevice(errs *diag.List, name string, at source.Span) {
	errs.Add("E411", at, "Windows keeps the name `%s` for a device, so no file or folder can have it", name).
		Hint("build writes one of this name: choose another, such as `%s_`, so that the output is the same on every machine", name)
}
