package git

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
)

// Setup makes git show and merge a workspace's sources and tables by cells: two
// drivers called "fettle" in the config of this clone, and attributes that name
// the files they are for, which go with the files from clone to clone.
type Setup struct {
	Repo    *Repo
	Command string   // how a shell is to call fettle
	Files   []string // the workspace's files that its tunes depend on
	Shared  bool     // only what is in git: the attributes
	// Puts a text in the place of a file, whole or not at all.
	Replace func(name, text string) error
}

// AttributesFile is the file that says which driver is for which file.
const AttributesFile = ".gitattributes"

// setting is a line of a config.
type setting struct{ key, value string }

// settings are those that setup owns.
//
// There is no merge.fettle.recursive: where two branches have several common
// ancestors, these are merged by the same driver, since a merge by lines would
// leave conflicts in the base that no cell has. Nor is there a
// diff.fettle.cachetextconv: git keeps what a driver printed until its command
// changes, and another version of fettle has the same command.
func (s *Setup) settings() []setting {
	percent := strings.ReplaceAll(s.Command, "%", "%%") // git puts names in the place of %A and its like
	return []setting{
		{"diff.fettle.textconv", s.Command + " git text"},
		// Above a change stands the declaration that it is in, or a CSV file's head.
		{"diff.fettle.xfuncname", `^([a-z][a-z0-9_]*[ ,].*)$`},
		{"merge.fettle.name", "fettle: tables by cell"},
		{"merge.fettle.driver", percent + " merge --marker-size %L --path %P -- %O %A %B"},
	}
}

// lines are those that setup owns in .gitattributes.
func (s *Setup) lines() []string {
	const drivers = " diff=fettle merge=fettle"
	out := []string{"*.fettle" + drivers}
	for _, name := range s.Files {
		if path.Ext(name) != ".fettle" {
			out = append(out, Pattern(name)+drivers)
		}
	}
	return out
}

// Apply does what Check misses. It says what it changed, a line each; none if
// there was nothing to do.
func (s *Setup) Apply() (changed []string, err error) {
	if !s.Shared {
		have, err := s.Repo.config()
		if err != nil {
			return nil, err
		}
		for _, c := range s.settings() {
			if slices.Equal(have[c.key], []string{c.value}) {
				continue
			}
			if _, err := s.Repo.git("config", "--local", "--replace-all", c.key, c.value); err != nil {
				return changed, fmt.Errorf("the config of this clone can't be changed: %w", err)
			}
			changed = append(changed, fmt.Sprintf("this clone's config: %s = %s", c.key, c.value))
		}
	}
	did, err := s.attributes(s.lines())
	if did != "" {
		changed = append(changed, did)
	}
	return changed, err
}

// Remove undoes Apply, and says what it changed.
func (s *Setup) Remove() (changed []string, err error) {
	have, err := s.Repo.config()
	if err != nil {
		return nil, err
	}
	for _, c := range s.settings() {
		if s.Shared || len(have[c.key]) == 0 {
			continue
		}
		if _, err := s.Repo.git("config", "--local", "--unset-all", c.key); err != nil {
			return changed, fmt.Errorf("the config of this clone can't be changed: %w", err)
		}
		changed = append(changed, "this clone's config: took out "+c.key)
	}
	did, err := s.attributes(nil)
	if did != "" {
		changed = append(changed, did)
	}
	return changed, err
}

// Check says what is missing or differs, a line each; none where all is set up.
func (s *Setup) Check() (faults []string, err error) {
	if !s.Shared {
		have, err := s.Repo.config()
		if err != nil {
			return nil, err
		}
		for _, c := range s.settings() {
			switch v := have[c.key]; {
			case len(v) == 0:
				faults = append(faults, fmt.Sprintf("this clone's config: %s is missing", c.key))
			case len(v) > 1:
				faults = append(faults, fmt.Sprintf("this clone's config: %s is there %d times", c.key, len(v)))
			case v[0] != c.value:
				faults = append(faults, fmt.Sprintf("this clone's config: %s is %s, not %s", c.key, plain(v[0]), c.value))
			}
		}
	}
	text, err := s.Repo.readAttributes()
	if err != nil {
		return nil, err
	}
	old, err := blocks(text)
	if err != nil {
		return append(faults, AttributesFile+": "+err.Error()), nil
	}
	var have []string
	for _, b := range old {
		have = append(have, b.lines...)
	}
	want := s.lines()
	for _, l := range want {
		if !slices.Contains(have, l) {
			faults = append(faults, AttributesFile+": a line is missing: "+l)
		}
	}
	for _, l := range have {
		if !slices.Contains(want, l) {
			faults = append(faults, AttributesFile+": a line is of no use: "+plain(l))
		}
	}
	if len(faults) > 0 {
		return faults, nil
	}
	return s.overruled()
}

// overruled asks git which drivers it takes for each file, since other lines and
// other files of attributes may say otherwise.
func (s *Setup) overruled() (faults []string, err error) {
	in := strings.NewReader(strings.Join(s.Files, "\x00") + "\x00")
	out, err := run(s.Repo.dir, in, "check-attr", "-z", "--stdin", "diff", "merge")
	if err != nil {
		return nil, err
	}
	for f := strings.Split(out, "\x00"); len(f) >= 3; f = f[3:] {
		if name, attribute, value := f[0], f[1], f[2]; value != "fettle" {
			faults = append(faults, fmt.Sprintf("%s: other attributes set %s to %s; `git check-attr %s` asks for it", name, attribute, plain(value), attribute))
		}
	}
	return faults, nil
}

// config reads what the clone's config has of our two drivers.
func (r *Repo) config() (map[string][]string, error) {
	out, err := r.git("config", "--local", "-z", "--get-regexp", `^(diff|merge)\.fettle\.`)
	if err != nil && exitStatus(err) != 1 { // 1: there is none
		return nil, err
	}
	have := map[string][]string{}
	for _, e := range strings.Split(out, "\x00") {
		if key, value, ok := strings.Cut(e, "\n"); ok {
			have[key] = append(have[key], value)
		}
	}
	return have, nil
}

// readAttributes gives the text of the workspace's .gitattributes, "" where
// there is none.
func (r *Repo) readAttributes() (string, error) {
	name := filepath.Join(r.dir, AttributesFile)
	st, err := os.Lstat(name)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return "", nil
	case err != nil:
		return "", err
	case !st.Mode().IsRegular():
		return "", fmt.Errorf("%s is no plain file, so git doesn't read it: put a file in its place", AttributesFile)
	}
	b, err := os.ReadFile(name)
	return string(b), err
}

// attributes puts our lines in the workspace's .gitattributes, or takes them
// out, and says what it did.
func (s *Setup) attributes(lines []string) (did string, err error) {
	old, err := s.Repo.readAttributes()
	if err != nil {
		return "", err
	}
	text, err := setLines(old, lines)
	switch name := filepath.Join(s.Repo.dir, AttributesFile); {
	case err != nil:
		return "", fmt.Errorf("%s: %w", AttributesFile, err)
	case text == old:
		return "", nil
	case text == "":
		did, err = AttributesFile+": removed, since nothing else was in it", os.Remove(name)
	case len(lines) == 0:
		did, err = AttributesFile+": took our lines out", s.Replace(name, text)
	default:
		did, err = AttributesFile+": "+strings.Join(lines, "\n"+AttributesFile+": "), s.Replace(name, text)
	}
	if err != nil {
		return "", err
	}
	return did, nil
}
