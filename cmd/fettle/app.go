package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"unicode/utf8"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"fettle/compiler"
	"fettle/lang/diag"
	"fettle/lang/source"
	"fettle/lang/syntax"
	budgets "fettle/lang/work"
)

// The exit statuses.
const (
	exitOK    = 0
	exitNo    = 1 // the answer is no
	exitWrong = 2 // the question is wrong
)

// status is an error that carries an exit status and, if it isn't empty, a
// message. Every other error is a wrong question.
type status struct {
	code int
	msg  string
}

func (s *status) Error() string { return s.msg }

// no is the answer no, said already on standard output.
var no = &status{exitNo, ""}

func wrong(format string, args ...any) error { return &status{exitWrong, fmt.Sprintf(format, args...)} }

// app is one run of the command.
type app struct {
	in       io.Reader
	out, err io.Writer
	dir      string
	json     bool
}

func run(args []string, in io.Reader, out, errw io.Writer) int {
	a := &app{in: in, out: out, err: errw}
	root := a.root()
	root.SetArgs(negativeLast(args))
	root.SetIn(in)
	root.SetOut(out)
	root.SetErr(errw)
	err := root.Execute()
	if err == nil {
		return exitOK
	}
	var s *status
	if errors.As(err, &s) {
		if s.msg != "" {
			fmt.Fprintln(errw, "fettle: "+plain(s.msg))
		}
		return s.code
	}
	fmt.Fprintln(errw, "fettle: "+plain(err.Error()))
	return exitWrong
}

// plain spells out what a terminal would obey in names that others gave: of files,
// of revisions, of what was asked for.
func plain(text string) string {
	lines := strings.Split(text, "\n")
	for i, l := range lines {
		lines[i] = diag.Clean(l)
	}
	return strings.Join(lines, "\n")
}

// negativeLast keeps an expression that begins with a minus from being taken for
// a flag: `fettle eval '-5 degC in K'`.
func negativeLast(args []string) []string {
	if len(args) < 2 || args[0] != "eval" {
		return args
	}
	for i, a := range args {
		if a == "--" {
			break
		}
		if len(a) > 1 && a[0] == '-' && (a[1] >= '0' && a[1] <= '9' || a[1] == '(' || a[1] == ' ') {
			out := append(append([]string{}, args[:i]...), args[i+1:]...)
			return append(out, "--", a)
		}
	}
	return args
}

func (a *app) root() *cobra.Command {
	root := &cobra.Command{
		Use:   "fettle",
		Short: "Compile one proven base and its named rules into the tables of many tunes",
		Long: `fettle compiles tunes: a dyno-proven base and named rules for altitude, weather,
fuel and pipe become plain lookup tables, and every cell can say why it is what
it is. A workspace is a folder with a tune.fettle in it; a command finds it
upwards from where it is run.`,
		SilenceUsage:  true,
		SilenceErrors: true,
		Args:          unknownCommand,
		RunE:          func(c *cobra.Command, _ []string) error { return c.Help() },
		Version:       version,
	}
	root.SetVersionTemplate("fettle {{.Version}}\n")
	root.SetHelpCommand(&cobra.Command{
		Use:   "help [COMMAND]",
		Short: "Help about any command",
		RunE: func(c *cobra.Command, args []string) error {
			cmd, rest, err := c.Root().Find(args)
			if err != nil || cmd == nil || cmd == c.Root() && len(args) > 0 {
				return unknownCommand(c.Root(), append(rest, args...))
			}
			return cmd.Help()
		},
	})
	root.PersistentFlags().StringVarP(&a.dir, "directory", "C", "", "run in the workspace of `DIR`")
	times := 1
	root.PersistentFlags().IntVar(&times, "work", 1, "allow a source `N` times as much work as usual before it is refused")
	root.PersistentPreRunE = func(*cobra.Command, []string) error {
		if times < 1 || times > budgets.MaxTimes {
			return wrong("--work is a number of times, 1 to %d, and not %d", budgets.MaxTimes, times)
		}
		budgets.Set(times)
		return nil
	}
	root.SetFlagErrorFunc(func(c *cobra.Command, err error) error {
		return wrong("%v; `%s --help` shows the flags", err, c.CommandPath())
	})
	root.AddCommand(a.initCommand(), a.checkCommand(), a.buildCommand(), a.diffCommand(), a.reviewCommand(), a.mergeCommand(), a.listCommand(), a.showCommand(), a.whyCommand(), a.logCommand(), a.fmtCommand(), a.codesCommand(), a.evalCommand(), a.docCommand(), a.importCommand(), a.verifyCommand(), a.gitCommand(),
		a.versionCommand())
	return root
}

// unknownCommand refuses a word that is no command, and names the nearest.
func unknownCommand(c *cobra.Command, args []string) error {
	if len(args) == 0 {
		return nil
	}
	var names []string
	for _, sub := range c.Commands() {
		names = append(names, sub.Name())
	}
	if near := diag.Nearest(args[0], names); near != "" {
		return wrong("unknown command %q: did you mean %s?", args[0], near)
	}
	return wrong("unknown command %q; `fettle --help` lists the commands", args[0])
}

// jsonFlag gives a command --json.
func (a *app) jsonFlag(c *cobra.Command) *cobra.Command {
	c.Flags().BoolVar(&a.json, "json", false, "print JSON of a published schema")
	return c
}

// workspace finds the workspace's folder.
func (a *app) workspace() (string, error) {
	start := a.dir
	if start == "" {
		start = "."
	}
	if st, err := os.Stat(start); err != nil || !st.IsDir() {
		return "", wrong("there is no folder %s", start)
	}
	dir, err := source.FindWorkspace(start)
	if errors.Is(err, source.ErrNoWorkspace) {
		return "", wrong("%v; `fettle init` makes a workspace", err)
	}
	return dir, err
}

// open reads the workspace. Its errors are printed here, and end the command
// with status 2; its warnings are for check and build to print.
func (a *app) open() (*compiler.Workspace, string, error) {
	dir, err := a.workspace()
	if err != nil {
		return nil, "", err
	}
	fsys, closer, err := source.OpenFolder(dir)
	if err != nil {
		return nil, "", wrong("%s can't be opened: %v", dir, err)
	}
	defer closer.Close()
	w := compiler.Open(fsys)
	if w.Diags.HasErrors() {
		if a.json {
			if err := a.printJSON(diag.NewReport(w.Diags.Sorted())); err != nil {
				return nil, "", err
			}
		} else {
			a.diagnostics(w.Diags)
		}
		return nil, "", &status{exitWrong, ""}
	}
	return w, dir, nil
}

func (a *app) diagnostics(l *diag.List) {
	if l.Len() > 0 {
		diag.Text(a.err, l.Sorted(), diag.TextOptions{Color: colored(a.err)})
	}
}

func (a *app) printJSON(v any) error {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	if err := e.Encode(v); err != nil {
		return err
	}
	_, err := a.out.Write(escaped(b.Bytes()))
	return err
}

// escaped writes what a terminal would obey, or what turns the direction of
// reading, as JSON escapes it: the same text to whoever parses it.
func escaped(data []byte) []byte {
	odd := func(r rune) bool { return r != '\n' && syntax.Unseen(r) }
	if !bytes.ContainsFunc(data, odd) {
		return data
	}
	var out []byte
	for _, r := range string(data) {
		if odd(r) {
			out = fmt.Appendf(out, "\\u%04x", r)
		} else {
			out = utf8.AppendRune(out, r)
		}
	}
	return out
}

// colored says whether a stream takes colours: a terminal, and no NO_COLOR.
func colored(w io.Writer) bool {
	f, ok := w.(*os.File)
	return ok && term.IsTerminal(int(f.Fd())) && os.Getenv("NO_COLOR") == "" && os.Getenv("TERM") != "dumb"
}

// width is a terminal's width, or 0 where there is none to keep to.
func width(w io.Writer) int {
	f, ok := w.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		return 0
	}
	n, _, err := term.GetSize(int(f.Fd()))
	if err != nil {
		return 0
	}
	return n
}

// halt is a channel that closes when work is to end early.
type halt struct {
	stop chan struct{}
	once sync.Once
}

// now closes it.
func (h *halt) now() { h.once.Do(func() { close(h.stop) }) }

// interrupts gives a halt that comes at Ctrl-C, and what undoes the watch. A second
// Ctrl-C ends the process as if nobody watched: nothing is ever half written.
func interrupts() (*halt, func()) {
	h := &halt{stop: make(chan struct{})}
	sig := make(chan os.Signal, 1)
	signal.Notify(sig, os.Interrupt, syscall.SIGTERM)
	quit := make(chan struct{})
	go func() {
		select {
		case <-sig:
			signal.Stop(sig)
			h.now()
		case <-quit:
		}
	}()
	return h, func() {
		signal.Stop(sig)
		close(quit)
	}
}

// command builds a cobra command whose usage errors say how it is used.
func command(use, short, long, example string, args cobra.PositionalArgs, runE func(*cobra.Command, []string) error) *cobra.Command {
	c := &cobra.Command{Use: use, Short: short, Long: strings.TrimSpace(long), Example: example, RunE: runE}
	c.Args = func(c *cobra.Command, list []string) error {
		if err := args(c, list); err != nil {
			return wrong("usage: fettle %s; `%s --help` says more", use, c.CommandPath())
		}
		return nil
	}
	c.DisableFlagsInUseLine = true
	return c
}

// shown prints a path as the user would: relative if it is below here.
func shown(path string) string {
	if wd, err := os.Getwd(); err == nil {
		if rel, err := filepath.Rel(wd, path); err == nil && !strings.HasPrefix(rel, "..") {
			return rel
		}
	}
	return path
}

// invocation is how this run was called, for the commands that it names.
func (a *app) invocation() string {
	if a.dir != "" {
		return "fettle -C " + plain(a.dir)
	}
	return "fettle"
}
