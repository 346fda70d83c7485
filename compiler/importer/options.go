package importer

import (
	"fmt"
	"slices"
	"strings"

	"fettle/lang/source"
	"fettle/lang/unit"
)

// Check says what is wrong with the flags, in the words of a command line.
func (o Options) Check() error {
	switch {
	case o.As != "" && o.As != "map" && o.As != "catalog":
		return fmt.Errorf("--as is map or catalog, not %q", o.As)
	case o.Decimal != "" && o.Decimal != "." && o.Decimal != ",":
		return fmt.Errorf("--decimal is . or ,")
	case o.Delimiter != "" && !slices.Contains(Delimiters(), o.Delimiter):
		return fmt.Errorf("--delimiter is one of %s", strings.Join(Delimiters(), ", "))
	case o.Name != "" && !goodName(o.Name):
		if name := legal(o.Name, "m"); name != "" {
			return fmt.Errorf("--name %q isn't a name that a declaration may have; %s is", o.Name, name)
		}
		return fmt.Errorf("--name %q isn't a name: names are lower case letters, digits and _", o.Name)
	}
	for _, f := range [][2]string{{"--rows", o.Rows}, {"--cols", o.Cols}} {
		if f[1] != "" && !goodName(headOf(f[1]).name) {
			return fmt.Errorf("%s %q doesn't name an axis; write it as throttle, or \"throttle [%%]\"", f[0], f[1])
		}
	}
	if o.Unit != "" {
		if _, err := unit.Parse(o.Unit); err != nil && spelled[strings.ToLower(o.Unit)] == "" {
			return fmt.Errorf("--unit %s: %v", o.Unit, err)
		}
	}
	return nil
}

func (j *job) options() bool {
	if err := j.opt.Check(); err != nil {
		j.errs.Add("E901", source.Span{}, "%v", err)
		return false
	}
	return true
}
