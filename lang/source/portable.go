package source

import (
	"fmt"
	"strings"
)

// Names of files that mean the same on every system. Windows keeps some names for
// devices, with any ending and in any case: what is written to nul.csv is gone. It
// takes a colon for a drive or a hidden stream, and drops dots and spaces at a
// name's end, so that two names become one.

// IsDevice says whether Windows takes a file or folder of a name, without the
// folders before it, for a device.
func IsDevice(name string) bool {
	base, _, _ := strings.Cut(strings.ToLower(name), ".")
	switch base = strings.TrimRight(base, " "); base {
	case "con", "prn", "aux", "nul", "conin$", "conout$":
		return true
	}
	rest, ok := strings.CutPrefix(base, "com")
	if !ok {
		rest, ok = strings.CutPrefix(base, "lpt")
	}
	return ok && len([]rune(rest)) == 1 && strings.Contains("0123456789¹²³", rest)
}

// portable refuses a path of a source that some system reads otherwise.
func portable(name string) error {
	for _, part := range strings.Split(name, "/") {
		switch {
		case part == ".": // a folder
		case strings.Contains(part, ":"):
			return fmt.Errorf("%q has a colon, which is a drive on Windows: name a file of the workspace, without one", name)
		case strings.HasSuffix(part, ".") || strings.HasSuffix(part, " "):
			return fmt.Errorf("%q has a dot or space at an end, which Windows drops: name the file without it", name)
		case IsDevice(part):
			return fmt.Errorf("%q is the name of a device on Windows: name the file otherwise", name)
		}
	}
	return nil
}
