package git

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"strings"
)

// ErrNoGit says that there is no git to ask.
var ErrNoGit = errors.New("git isn't on the PATH: install it, or name two folders or files instead of a revision")

// failure is a run of git that ended badly.
type failure struct {
	status int
	text   string // what git said of it
}

func (f *failure) Error() string {
	text := strings.TrimPrefix(strings.TrimPrefix(f.text, "fatal: "), "error: ")
	if text == "" {
		return fmt.Sprintf("git ends with status %d", f.status)
	}
	if strings.Contains(text, "promisor remote") {
		return "this clone is partial and lacks it: `git fetch --refetch --no-filter` gets the rest"
	}
	return "git says: " + text
}

// exitStatus is the status that git ended with, 0 if it didn't run to an end.
func exitStatus(err error) int {
	var f *failure
	if errors.As(err, &f) {
		return f.status
	}
	return 0
}

// always stands before every command.
var always = []string{
	"--no-pager", "--literal-pathspecs",
	"-c", "core.quotepath=false",
	"-c", "core.fsmonitor=false", // else a repository's config could start a program
	"-c", "core.hooksPath=" + os.DevNull,
	"-c", "log.showSignature=false",
	"-c", "protocol.allow=never", // nor go to a remote for what a clone lacks
	"-c", "core.warnAmbiguousRefs=false", // looked after in resolve.go
}

// passes lists what of git's own environment is let through; a name that ends
// with _ stands for all that begin with it.
var passes = []string{
	"GIT_CONFIG_GLOBAL", "GIT_CONFIG_SYSTEM", "GIT_CONFIG_NOSYSTEM",
	"GIT_CONFIG_COUNT", "GIT_CONFIG_KEY_", "GIT_CONFIG_VALUE_", "GIT_CONFIG_PARAMETERS",
	"GIT_CEILING_DIRECTORIES", "GIT_DISCOVERY_ACROSS_FILESYSTEM", "GIT_EXEC_PATH",
}

func passed(name string) bool {
	for _, p := range passes {
		if name == p || strings.HasSuffix(p, "_") && strings.HasPrefix(name, p) {
			return true
		}
	}
	return false
}

// environment is what git is started with.
func environment() []string {
	var out []string
	for _, v := range os.Environ() {
		if name, _, _ := strings.Cut(v, "="); !strings.HasPrefix(name, "GIT_") || passed(name) {
			out = append(out, v)
		}
	}
	// Reading takes no lock, nobody is there to answer a prompt, and nothing is fetched.
	return append(out, "GIT_OPTIONAL_LOCKS=0", "GIT_TERMINAL_PROMPT=0", "GIT_ASKPASS=", "SSH_ASKPASS=",
		"GIT_NO_LAZY_FETCH=1", "GIT_ALLOW_PROTOCOL=", "LC_ALL=C")
}

// command prepares git to run in a folder.
func command(dir string, args ...string) (*exec.Cmd, error) {
	path, err := exec.LookPath("git")
	if err != nil {
		return nil, ErrNoGit
	}
	cmd := exec.Command(path, append(append([]string{}, always...), args...)...)
	cmd.Dir = dir
	cmd.Env = environment()
	return cmd, nil
}

// run gives what git prints to its standard output.
func run(dir string, in io.Reader, args ...string) (string, error) {
	cmd, err := command(dir, args...)
	if err != nil {
		return "", err
	}
	var out bytes.Buffer
	said := &said{}
	cmd.Stdin, cmd.Stdout, cmd.Stderr = in, &out, said
	if err := cmd.Run(); err != nil {
		var ee *exec.ExitError
		if errors.As(err, &ee) {
			return out.String(), &failure{ee.ExitCode(), said.line()}
		}
		return "", fmt.Errorf("git can't be run: %w", err)
	}
	return out.String(), nil
}

// said keeps the beginning of what git says to its standard error.
type said struct{ b []byte }

func (s *said) Write(p []byte) (int, error) {
	const most = 4096
	s.b = append(s.b, p[:min(len(p), most-len(s.b))]...)
	return len(p), nil
}

// line is the line of it that tells of the failure, fit for a terminal.
func (s *said) line() string {
	lines := strings.Split(strings.TrimSpace(string(s.b)), "\n")
	for _, l := range lines {
		if strings.HasPrefix(l, "fatal: ") {
			return plain(l)
		}
	}
	return plain(lines[0])
}

// plain makes a text from a repository fit for a line of a terminal: control
// characters become spaces.
func plain(s string) string {
	return strings.TrimSpace(strings.Map(func(c rune) rune {
		if c < ' ' || c >= 0x7f && c < 0xa0 || c == '\u2028' || c == '\u2029' || c >= '\u202a' && c <= '\u202e' || c >= '\u2066' && c <= '\u2069' {
			return ' '
		}
		return c
	}, strings.ToValidUTF8(s, "\ufffd")))
}
