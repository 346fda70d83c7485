package emit

// BundleVersion is the version of a bundle.json.
const BundleVersion = "fettle/bundle/1"

// Bundle is a bundle.json: tunes among which a switch selects.
type Bundle struct {
	Schema string `json:"schema"`
	Name   string `json:"name"`
	Target string `json:"target,omitempty"` // none for the maps' own tables
	Doc    string `json:"doc,omitempty"`
	Place
	Source   SourceInfo   `json:"source"`
	Compiler string       `json:"compiler"`
	Differs  []string     `json:"differs"` // givens in which the slots may differ
	Slots    []BundleSlot `json:"slots"`
	Unlike   []Unlike     `json:"unlike"` // givens in which they do
	Jumps    []BundleJump `json:"jumps"`
	Cautions []string     `json:"cautions"`
}

// BundleSlot is one place of the switch, with the files of its folder.
type BundleSlot struct {
	Slot   int          `json:"slot"`
	Tune   string       `json:"tune"`
	Digest string       `json:"digest"` // the tune's, as the index has it
	Files  []FormatFile `json:"files"`
}

// Unlike is a given with its values by slot.
type Unlike struct {
	Name   string   `json:"name"`
	Values []string `json:"values"`
}

// BundleJump is how far a table differs from slot to slot: the largest jump, as
// it is judged, and where it is. A share is left out where a value is 0.
type BundleJump struct {
	Table   string       `json:"table"`
	Map     string       `json:"map"`
	Unit    string       `json:"unit"`
	Allowed string       `json:"allowed,omitempty"`
	Largest Number       `json:"largest"`
	Share   *Number      `json:"share,omitempty"` // of the smaller value
	Slots   []int        `json:"slots"`
	Values  []Number     `json:"values"`
	At      []Coordinate `json:"at"`
	Points  int          `json:"points"` // looked at
	Past    int          `json:"past"`   // of them, farther than allowed
}

// BundleEntry is one bundle of an index.
type BundleEntry struct {
	Name         string      `json:"name"`
	Target       string      `json:"target,omitempty"`
	Status       string      `json:"status"`
	Slots        []IndexSlot `json:"slots"`
	Digest       *string     `json:"digest"` // nil for one that fails; as of a tune
	SourceDigest string      `json:"source_digest"`
	Reasons      []string    `json:"reasons,omitempty"`
}

// IndexSlot is a slot in an index.
type IndexSlot struct {
	Slot int    `json:"slot"`
	Tune string `json:"tune"`
}
