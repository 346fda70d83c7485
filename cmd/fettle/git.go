package main

import (
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"fettle/compiler/celltext"
	"fettle/compiler/git"
	"fettle/lang/source"
)

func (a *app) gitCommand() *cobra.Command {
	c := command("git COMMAND", "Make git show and merge tables by cells",
		`Git compares and merges files by lines, and a row of a table is one line.
fettle git setup tells git, for this clone, to ask fettle instead.`,
		"  fettle git setup\n  fettle git setup --check\n  fettle git text tune.fettle",
		cobra.ArbitraryArgs, func(c *cobra.Command, args []string) error {
			if len(args) == 0 {
				return c.Help()
			}
			return wrong("unknown command %q; `fettle git --help` lists the commands", "git "+args[0])
		})
	c.AddCommand(a.gitSetupCommand(), a.gitTextCommand())
	return c
}

func (a *app) gitSetupCommand() *cobra.Command {
	var check, remove, attributes bool
	c := command("git setup", "Make git diff, git log -p and git merge work by cells in this clone",
		`Puts two things in place, and nothing the second time:

  - in the config of this clone, a diff driver and a merge driver called fettle;
  - in .gitattributes, beside the workspace's tune.fettle, a line for *.fettle and
    one for each CSV file that the tunes use, between two comments. All else in
    the file stays as it is.

Commit .gitattributes: it goes to every clone. The config doesn't, so that each
clone has fettle git setup run in it once. Without it git works by lines there,
as ever. Run it again when the tunes use another CSV file, or when fettle has
moved.

Then git diff, git log -p, git show and git blame show a line a cell, and git
merge and git rebase merge by cells. What is stored, and what git format-patch
writes, stays as it is.

--check changes nothing, says what is missing or differs, and answers with
status 1 if anything does. --remove takes out what setup put in. With
--attributes all three look at .gitattributes alone: for a job that starts from
a fresh clone.`,
		"  fettle git setup\n  fettle git setup --check --attributes\n  fettle git setup --remove",
		cobra.NoArgs, func(*cobra.Command, []string) error {
			if check && remove {
				return wrong("--check changes nothing, and --remove does: choose one")
			}
			s, err := a.gitSetup(remove, attributes)
			if err != nil {
				return err
			}
			switch {
			case check:
				return a.gitFaults(s, "all set up")
			case remove:
				return a.gitChanged(s.Remove, "nothing to take out")
			}
			if err := a.gitChanged(s.Apply, "all set up: nothing to do"); err != nil {
				return err
			}
			// What stands in the way is told too: attributes that weigh more.
			return a.gitFaults(s, "")
		})
	c.Use = "setup"
	c.Flags().BoolVar(&check, "check", false, "change nothing; the status is 1 if anything is missing or differs")
	c.Flags().BoolVar(&remove, "remove", false, "take out what setup put in")
	c.Flags().BoolVar(&attributes, "attributes", false, "look only at .gitattributes, and not at this clone's config")
	return c
}

// gitSetup gathers what setup needs; taking it out needs no source that compiles.
func (a *app) gitSetup(remove, attributes bool) (*git.Setup, error) {
	dir, err := a.workspace()
	if err != nil {
		return nil, err
	}
	s := &git.Setup{Command: ourCommand(), Shared: attributes, Replace: source.Replace}
	if s.Repo, err = git.Open(dir); err != nil {
		return nil, wrong("%v", err)
	}
	if !remove {
		w, _, err := a.open()
		if err != nil {
			return nil, err
		}
		s.Files = w.Files()
	}
	return s, nil
}

func (a *app) gitChanged(do func() ([]string, error), nothing string) error {
	changed, err := do()
	for _, line := range changed {
		fmt.Fprintln(a.out, plain(line))
	}
	if err != nil {
		return wrong("%v", err)
	}
	if len(changed) == 0 {
		fmt.Fprintln(a.out, nothing)
	}
	return nil
}

func (a *app) gitFaults(s *git.Setup, none string) error {
	faults, err := s.Check()
	if err != nil {
		return wrong("%v", err)
	}
	for _, line := range faults {
		fmt.Fprintln(a.out, plain(line))
	}
	if len(faults) > 0 {
		return no
	}
	if none != "" {
		fmt.Fprintln(a.out, none)
	}
	return nil
}

// ourCommand is how git's shell is to call this program: by its name if the PATH
// leads to it, else by its place.
func ourCommand() string {
	self, err := os.Executable()
	if err != nil {
		return "fettle"
	}
	if found, err := exec.LookPath("fettle"); err == nil {
		x, err := os.Stat(found)
		y, err2 := os.Stat(self)
		if err == nil && err2 == nil && os.SameFile(x, y) {
			return "fettle"
		}
	}
	self = filepath.ToSlash(self)
	if strings.Trim(self, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789/._-+") == "" {
		return self
	}
	return "'" + strings.ReplaceAll(self, "'", `'\''`) + "'"
}

func (a *app) gitTextCommand() *cobra.Command {
	c := command("git text FILE", "Print a source or a CSV table with a line for each cell",
		`Prints a file as git diff compares it after fettle git setup: every row of a
grid or of a catalogue as a line for each of its cells, with its place, all else
as it is. What can't be read as a table is printed as it is too.`,
		"  fettle git text tune.fettle\n  fettle git text base_fuel.csv",
		cobra.ExactArgs(1), func(_ *cobra.Command, args []string) error {
			if st, err := os.Stat(args[0]); err == nil && !st.Mode().IsRegular() {
				return wrong("%s is not a plain file", args[0])
			}
			f, err := os.Open(args[0])
			if err != nil {
				return wrong("there is no file %s that can be read", args[0])
			}
			defer f.Close()
			b, err := io.ReadAll(io.LimitReader(f, source.MaxFile+1))
			if err != nil {
				return wrong("%s can't be read: %v", args[0], err)
			}
			if len(b) > source.MaxFile { // no source is as long as that
				if _, err = a.out.Write(b); err == nil {
					_, err = io.Copy(a.out, f)
				}
				return err
			}
			return celltext.Write(a.out, string(b))
		})
	c.Use = "text FILE"
	return c
}
