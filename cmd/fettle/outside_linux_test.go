package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// What a command does to the world outside: seen by strace, in a repository whose
// every setting would start a program, with an environment that would lead git
// elsewhere.

// hostile is a repository of a workspace in which everything that can start a program
// does: each would leave a mark.
type hostile struct {
	t                   *testing.T
	top, ws, mark, evil string
	env                 []string
}

func newHostile(t *testing.T) *hostile {
	h := &hostile{t: t, top: memory(t)}
	h.ws, h.mark, h.evil = filepath.Join(h.top, "bike"), filepath.Join(h.top, "mark"), filepath.Join(h.top, "evil")
	write := func(name, text string, mode os.FileMode) {
		t.Helper()
		if err := os.MkdirAll(filepath.Dir(name), 0o777); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(name, []byte(text), mode); err != nil {
			t.Fatal(err)
		}
	}
	write(h.evil, "#!/bin/sh\necho \"$0 $*\" >> "+h.mark+"\nexit 1\n", 0o777)
	if err := os.CopyFS(h.ws, os.DirFS("../../examples/first")); err != nil {
		t.Fatal(err)
	}
	h.git("init", "-q", "-b", "main")
	h.git("add", "-A")
	h.git("commit", "-q", "-m", "one")
	first := strings.TrimSpace(h.git("rev-parse", "HEAD:tune.fettle"))
	main := filepath.Join(h.ws, "tune.fettle")
	text, err := os.ReadFile(main)
	if err != nil {
		t.Fatal(err)
	}
	write(main, strings.Replace(string(text), "+= 12 %", "+= 11 %", 1), 0o666)
	h.git("commit", "-qam", "two")
	h.git("commit", "-q", "--allow-empty", "-m", "three")
	// What the work tree has is newer than what git noted of it, so that git would look
	// at it through its filters.
	write(main, strings.Replace(string(text), "+= 12 %", "+= 10 %", 1), 0o666)
	write(filepath.Join(h.ws, ".gitattributes"), "* diff=evil filter=evil merge=evil\n", 0o666)
	write(filepath.Join(h.ws, ".git", "info", "attributes"), "* diff=evil filter=evil\n", 0o666)
	for _, hook := range []string{"post-index-change", "reference-transaction", "pre-auto-gc", "fsmonitor-watchman", "post-checkout", "pre-commit"} {
		write(filepath.Join(h.top, "hooks", hook), "#!/bin/sh\n"+h.evil+" "+hook+"\n", 0o777)
		write(filepath.Join(h.ws, ".git", "hooks", hook), "#!/bin/sh\n"+h.evil+" "+hook+"\n", 0o777)
	}
	for key, value := range map[string]string{
		"core.fsmonitor": h.evil, "core.hooksPath": filepath.Join(h.top, "hooks"), "core.pager": h.evil, "core.editor": h.evil,
		"core.sshCommand": h.evil, "core.askPass": h.evil, "core.gitProxy": h.evil, "core.alternateRefsCommand": h.evil,
		"diff.external": h.evil, "diff.evil.textconv": h.evil, "diff.evil.command": h.evil, "interactive.diffFilter": h.evil,
		"filter.evil.clean": h.evil, "filter.evil.smudge": h.evil, "filter.evil.process": h.evil, "filter.evil.required": "true",
		"merge.evil.driver": h.evil, "gpg.program": h.evil, "log.showSignature": "true", "pager.log": h.evil, "pager.diff": h.evil,
		"alias.log": "!" + h.evil, "alias.status": "!" + h.evil, "alias.rev-list": "!" + h.evil, "credential.helper": h.evil,
		"uploadpack.packObjectsHook": h.evil, "trailer.x.command": h.evil, "pager.status": h.evil, "pager.config": h.evil,
		// What a clone lacks is fetched from here, by a program.
		"remote.origin.url": "ext::" + h.evil, "remote.origin.promisor": "true", "remote.origin.partialclonefilter": "blob:none",
		"protocol.ext.allow": "always", "protocol.allow": "always", "extensions.partialClone": "origin", "core.repositoryformatversion": "1",
	} {
		h.git("config", key, value)
	}
	// The first commit lacks its source.
	if err := os.Remove(filepath.Join(h.ws, ".git", "objects", first[:2], first[2:])); err != nil {
		t.Fatal(err)
	}
	elsewhere := filepath.Join(h.top, "elsewhere")
	h.env = []string{
		"GIT_DIR=" + elsewhere, "GIT_WORK_TREE=" + elsewhere, "GIT_INDEX_FILE=" + filepath.Join(elsewhere, "index"), "GIT_OBJECT_DIRECTORY=" + elsewhere,
		"GIT_COMMON_DIR=" + elsewhere, "GIT_NAMESPACE=x", "GIT_CONFIG=" + elsewhere, "GIT_ATTR_SOURCE=x", "GIT_ALTERNATE_OBJECT_DIRECTORIES=" + elsewhere,
		"GIT_EXTERNAL_DIFF=" + h.evil, "GIT_PAGER=" + h.evil, "PAGER=" + h.evil, "GIT_EDITOR=" + h.evil, "GIT_SSH=" + h.evil, "GIT_SSH_COMMAND=" + h.evil,
		"GIT_PROXY_COMMAND=" + h.evil, "GIT_ASKPASS=" + h.evil, "SSH_ASKPASS=" + h.evil, "GIT_ALLOW_PROTOCOL=ext:file", "GIT_NO_LAZY_FETCH=0",
		"GIT_TRACE=" + h.mark, "GIT_TRACE2=" + h.mark, "GIT_TRACE2_EVENT=" + h.mark, "GIT_TRACE_SETUP=" + h.mark, "GIT_REDIRECT_STDERR=" + h.mark,
		"GIT_CONFIG_GLOBAL=" + os.DevNull, "GIT_CONFIG_SYSTEM=" + os.DevNull,
	}
	return h
}

// git runs git as the repository's owner does.
func (h *hostile) git(args ...string) string {
	h.t.Helper()
	cmd := exec.Command("git", args...)
	cmd.Dir = h.ws
	cmd.Env = append(os.Environ(), "GIT_CONFIG_GLOBAL="+os.DevNull, "GIT_CONFIG_SYSTEM="+os.DevNull,
		"GIT_AUTHOR_NAME=T", "GIT_AUTHOR_EMAIL=t@t.invalid", "GIT_COMMITTER_NAME=T", "GIT_COMMITTER_EMAIL=t@t.invalid")
	out, err := cmd.CombinedOutput()
	if err != nil {
		h.t.Fatalf("git %v: %v\n%s", args, err, out)
	}
	return string(out)
}

// outside are the main commands, what each may answer, and which files it may write
// beside drafts: names in the workspace.
var outside = []struct {
	line  string
	code  int
	write []string
}{
	{"check", 0, nil},
	{"build", 0, []string{"out", ".out.lock", ".out.new-"}},
	{"build hill --format csv,xlsx,json,c,bin --live -o deep/er", 0, []string{"deep", "deep/er", "deep/.er.lock", "deep/.er.new-"}},
	{"list", 0, nil},
	{"show hill fuel", 0, nil},
	{"why hill fuel throttle=50 rpm=6000", 0, nil},
	{"why HEAD:frosty_hill fuel throttle=0 rpm=2000", 0, nil},
	{"diff", 1, nil},
	{"diff HEAD~1 HEAD", 0, nil},
	{"diff HEAD~2", 2, nil}, // it lacks that, and gets it from nowhere
	{"diff --source HEAD", 1, nil},
	{"diff -- --output=x", 2, nil},
	{"review HEAD -o page.html", 1, []string{"page.html", ".page.html.new-"}},
	{"log frosty_hill fuel throttle=0 rpm=2000", 0, nil},
	{"verify out/hill/fuel.csv", 0, nil},
	{"fmt --check", 0, nil},
	{"fmt", 0, []string{"tune.fettle", ".tune.fettle.new-"}},
	{"merge out/home/fuel.csv out/hill/fuel.csv out/home/fuel.csv -o merged.csv --path tune.fettle", 0, []string{"merged.csv", ".merged.csv.new-"}},
	{"import out/hill/fuel.csv -o more.fettle", 0, []string{"more.fettle", ".more.fettle.new-"}},
	{"git text tune.fettle", 0, nil},
	{"git setup --check", 1, nil},
	{"git setup --attributes", 1, []string{".gitattributes", "..gitattributes.new-"}},
	{"init another", 0, []string{"another", "another/tune.fettle", "another/.tune.fettle.new-"}},
	{"eval 3+4", 0, nil},
	{"doc air", 0, nil},
	{"codes", 0, nil},
	{"version", 0, nil},
	{"__complete show h", 0, nil},
}

// seen is a line of strace's: the process, the call, its arguments.
var seen = regexp.MustCompile(`^\d+ +([a-z0-9_]+)\((.*)`)

// placed is a path in such arguments, with the folder that it begins from.
var placed = regexp.MustCompile(`(?:(?:AT_FDCWD|\d+)<([^>]*)>, )?"((?:[^"\\]|\\.)*)"`)

func TestNothingOutside(t *testing.T) {
	strace := strace(t)
	h := newHostile(t)
	for _, c := range outside {
		log := filepath.Join(h.top, "log")
		args := append([]string{"-f", "-y", "-s", "4096", "-o", log, "-e",
			"trace=%network,execve,execveat,openat,openat2,open,creat,mkdir,mkdirat,rename,renameat,renameat2,link,linkat,symlink,symlinkat,unlink,unlinkat,rmdir,truncate,chmod,fchmodat,chown,fchownat,mknod,mknodat", "fettle"},
			strings.Fields(c.line)...)
		cmd := exec.Command(strace, args...)
		cmd.Dir = h.ws
		cmd.Env = append(os.Environ(), h.env...)
		said, _ := cmd.CombinedOutput()
		if code := cmd.ProcessState.ExitCode(); code != c.code {
			t.Errorf("fettle %s: %d, want %d\n%s", c.line, code, c.code, said)
		}
		text, err := os.ReadFile(log)
		if err != nil {
			t.Fatal(err)
		}
		for _, line := range strings.Split(string(text), "\n") {
			if fault := h.fault(line, c.write); fault != "" {
				t.Errorf("fettle %s: %s: %s", c.line, fault, line)
			}
		}
		if mark, err := os.ReadFile(h.mark); err == nil {
			t.Errorf("fettle %s starts a program, or has git write: %s", c.line, mark)
			_ = os.Remove(h.mark)
		}
	}
	// The repository is hostile indeed: whoever asks git in the usual way starts it.
	cmd := exec.Command("git", "status")
	cmd.Dir = h.ws
	_ = cmd.Run()
	if _, err := os.Stat(h.mark); err != nil {
		t.Errorf("the repository's settings start nothing, so this test sees nothing: %v", err)
	}
}

// fault says what a call does that no command may.
func (h *hostile) fault(line string, may []string) string {
	m := seen.FindStringSubmatch(line)
	if m == nil {
		return ""
	}
	call, args := m[1], m[2]
	switch call {
	case "execve", "execveat":
		path := placed.FindStringSubmatch(args)
		if base := filepath.Base(path[2]); base != "git" && base != "fettle" {
			return "another program is started"
		}
		return ""
	case "open", "openat", "openat2":
		if !strings.Contains(args, "O_WRONLY") && !strings.Contains(args, "O_RDWR") && !strings.Contains(args, "O_CREAT") && !strings.Contains(args, "O_TRUNC") {
			return ""
		}
	case "creat", "mkdir", "mkdirat", "rename", "renameat", "renameat2", "link", "linkat", "symlink", "symlinkat", "unlink", "unlinkat", "rmdir", "truncate", "chmod", "fchmodat", "chown", "fchownat", "mknod", "mknodat":
	default:
		return "a socket is used"
	}
	for _, p := range placed.FindAllStringSubmatch(args, -1) {
		path := p[2]
		if !filepath.IsAbs(path) {
			from := p[1]
			if from == "" {
				from = h.ws
			}
			path = filepath.Join(from, path)
		}
		if !h.may(path, may) {
			return fmt.Sprintf("%s is changed", path)
		}
	}
	return ""
}

// may says whether a path is one of those named, or below a folder of them.
func (h *hostile) may(path string, names []string) bool {
	if path == os.DevNull {
		return true
	}
	for _, name := range names {
		name = filepath.Join(h.ws, name)
		if path == name || strings.HasPrefix(path, name+"/") && filepath.Base(name) != "another" || strings.HasSuffix(name, "-") && strings.HasPrefix(path, name) {
			return true
		}
	}
	return false
}
