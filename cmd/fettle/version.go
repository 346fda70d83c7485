package main

import (
	"fmt"
	"runtime"

	"github.com/spf13/cobra"

	"fettle/compiler/report"
)

// version is the compiler's, written into every manifest. It moves whenever the
// same source could give other bytes.
const version = "0.1.0"

func (a *app) versionCommand() *cobra.Command {
	c := command("version", "Print the compiler's version", "", "  fettle version", cobra.NoArgs, func(*cobra.Command, []string) error {
		if a.json {
			return a.printJSON(report.Version{Schema: "fettle/version/1", Version: version, Go: runtime.Version(), Platform: runtime.GOOS + "/" + runtime.GOARCH})
		}
		fmt.Fprintf(a.out, "fettle %s (%s, %s/%s)\n", version, runtime.Version(), runtime.GOOS, runtime.GOARCH)
		return nil
	})
	return a.jsonFlag(c)
}
