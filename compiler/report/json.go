package report

import (
	_ "embed"

	"fettle/lang/diag"
)

// Checked is what `check --json` prints.
type Checked struct {
	*Verdicts
	Diagnostics *diag.Report `json:"diagnostics"`
}

// Built is what `build --json` prints.
type Built struct {
	Schema  string   `json:"schema"`
	Folder  string   `json:"folder"`
	Written int      `json:"written"`
	Kept    int      `json:"kept"`
	Dropped []string `json:"dropped"`
	Tables  int      `json:"tables"`
	Check   Checked  `json:"check"`
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
)
