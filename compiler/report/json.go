package report

import (
	_ "embed"
	"fmt"
	"io"

	"fettle/compiler/emit"
	"fettle/compiler/eval"
	"fettle/lang/diag"
)

// Checked is what `check --json` prints.
type Checked struct {
	*Verdicts
	Diagnostics *diag.Report `json:"diagnostics"`
	Stats       *eval.Stats  `json:"stats,omitempty"`
}

// StatsText says what the source was lowered to.
func StatsText(w io.Writer, s eval.Stats) {
	fmt.Fprintf(w, "\n%s with %s a tune; %s that never change, %s of the conditions alone.\n", Count(s.Kernels, "kernel"), Count(s.Operations, "operation"),
		Count(s.Constant, "column"), Count(s.Numbers, "number"))
	fmt.Fprintf(w, "%s left to the plain evaluator.\n", Count(int(s.Plain), "column"))
}

// Built is what `build --json` prints.
type Built struct {
	Schema       string        `json:"schema"`
	Folder       string        `json:"folder"`
	Written      []string      `json:"written"`
	Kept         []string      `json:"kept"`
	Removed      []string      `json:"removed"`
	FailedBefore []string      `json:"failed_before"`
	Dropped      []DroppedTune `json:"dropped"`
	Bundles      []string      `json:"bundles,omitempty"`      // written
	KeptBundles  []string      `json:"kept_bundles,omitempty"` // of an earlier build
	Files        int           `json:"files"`
	Bytes        int64         `json:"bytes"`
	Check        Checked       `json:"check"`
}

// DroppedTune is a tune of an earlier build that is gone from the folder.
type DroppedTune struct {
	Name string `json:"name"`
	Why  string `json:"why"`
}

// NewBuilt puts a build's summary in the form of its JSON.
func NewBuilt(s emit.Summary, c Checked) Built {
	b := Built{Schema: "fettle/build/1", Folder: s.Dir, Written: notNil(s.Written), Kept: notNil(s.Kept), Removed: notNil(s.Removed),
		FailedBefore: notNil(s.FailedBefore), Dropped: []DroppedTune{}, Files: s.Files, Bytes: s.Bytes, Bundles: s.Bundles, KeptBundles: s.KeptBundles, Check: c}
	for _, d := range s.Dropped {
		b.Dropped = append(b.Dropped, DroppedTune{d.Name, d.Why})
	}
	return b
}

func notNil(list []string) []string {
	if list == nil {
		return []string{}
	}
	return list
}

// Text says in a few lines what a build did.
func (b Built) Text(w io.Writer, shown string) {
	fmt.Fprintf(w, "wrote %s in %s to %s, %s", things(b.Written, b.Bundles), Count(b.Files, "file"), shown, size(b.Bytes))
	if len(b.Kept)+len(b.KeptBundles) > 0 {
		fmt.Fprintf(w, "; kept %s of an earlier build", things(b.Kept, b.KeptBundles))
	}
	fmt.Fprintln(w)
	for _, t := range b.Check.Targets {
		if t.Fails > 0 {
			fmt.Fprintf(w, "of target %s the tables of %d of %s\n", t.Name, t.Holds, Count(t.Holds+t.Fails, "tune"))
		}
	}
	for _, name := range b.Removed {
		fmt.Fprintf(w, "removed the tables of %s, which fails now\n", name)
	}
	if n := len(b.FailedBefore); n > 0 {
		fmt.Fprintf(w, "%s failed in an earlier build and %s not built now\n", Count(n, "tune"), map[bool]string{true: "was", false: "were"}[n == 1])
	}
	for _, d := range b.Dropped {
		fmt.Fprintf(w, "dropped %s: %s\n", d.Name, d.Why)
	}
}

// things counts tunes and, where there are any, bundles.
func things(tunes, bundles []string) string {
	switch {
	case len(bundles) == 0:
		return Count(len(tunes), "tune")
	case len(tunes) == 0:
		return Count(len(bundles), "bundle")
	}
	return Count(len(tunes), "tune") + " and " + Count(len(bundles), "bundle")
}

func size(n int64) string {
	switch {
	case n < 10_000:
		return fmt.Sprintf("%d bytes", n)
	case n < 10_000_000:
		return fmt.Sprintf("%d kB", n/1000)
	}
	return fmt.Sprintf("%d MB", n/1_000_000)
}

// Version is what `version --json` prints.
type Version struct {
	Schema   string `json:"schema"`
	Version  string `json:"version"`
	Go       string `json:"go"`
	Platform string `json:"platform"`
}

// Codes is what `codes --json` prints.
type Codes struct {
	Schema string `json:"schema"`
	Codes  []Code `json:"codes"`
}

// Code is one entry of the table of codes.
type Code struct {
	ID    string `json:"id"`
	Title string `json:"title"`
	Text  string `json:"text"`
}

// Formatted is what `fmt --json` prints.
type Formatted struct {
	Schema string   `json:"schema"`
	Check  bool     `json:"check"` // nothing was written
	Files  []string `json:"files"` // those that weren't in the layout
}

// The published schemas of this package's JSON.
var (
	//go:embed schema/list.schema.json
	ListSchema string
	//go:embed schema/show.schema.json
	ShowSchema string
	//go:embed schema/check.schema.json
	CheckSchema string
	//go:embed schema/build.schema.json
	BuildSchema string
	//go:embed schema/version.schema.json
	VersionSchema string
	//go:embed schema/codes.schema.json
	CodesSchema string
	//go:embed schema/fmt.schema.json
	FmtSchema string
)
