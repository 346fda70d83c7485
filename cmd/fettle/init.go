package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"fettle/examples"
	"fettle/lang/source"
)

func (a *app) initCommand() *cobra.Command {
	return command("init [DIR]", "Write a small workspace that builds, checks and explains itself",
		`Writes a tune.fettle into DIR (here, without one): a small base map, two rules,
three variants, a limit and two checks, with invented numbers. An existing
tune.fettle is never touched.`,
		"  fettle init my-bike",
		cobra.MaximumNArgs(1), func(_ *cobra.Command, args []string) error {
			dir := a.dir
			if len(args) == 1 {
				dir = filepath.Join(dir, args[0])
			}
			if dir == "" {
				dir = "."
			}
			if err := os.MkdirAll(dir, 0o777); err != nil {
				return wrong("%s can't be made: %s", dir, source.Cause(err))
			}
			path := filepath.Join(dir, source.MainName)
			err := source.Create(path, examples.First)
			if errors.Is(err, fs.ErrExist) {
				return wrong("%s exists already, and is left as it is", path)
			}
			if err != nil {
				return wrong("%v", err)
			}
			at := ""
			if dir != "." {
				at = " -C " + dir
			}
			fmt.Fprintf(a.out, `wrote %s, with invented numbers: not for a real engine.

  fettle%[2]s check                                     does every tune hold?
  fettle%[2]s build                                     write the tables
  fettle%[2]s show hill fuel                            look at one
  fettle%[2]s why hill fuel throttle=50 rpm=6000        why is this cell what it is?
  fettle%[2]s diff home hill                            what differs, and which rule did it?
`, path, at)
			return nil
		})
}
