package emit

// Target is a tune for a controller, in tune.json.
type Target struct {
	Name string `json:"name"`
	Doc  string `json:"doc,omitempty"`
	Place
	Status      string        `json:"status"` // written or failed
	Reasons     []string      `json:"reasons,omitempty"`
	Compensates []string      `json:"compensates"`
	LeftOut     []LeftOut     `json:"left_out"` // rules that the controller compensates
	Bytes       string        `json:"bytes"`    // big or little
	Folder      string        `json:"folder,omitempty"`
	Tables      []TargetTable `json:"tables"`
	Limits      []Limit       `json:"limits"` // looked at on the written tables
	Files       []FormatFile  `json:"files,omitempty"`
}

// TargetTable is a table that a controller takes.
type TargetTable struct {
	Name       string     `json:"name"`
	Map        string     `json:"map"`
	Unit       string     `json:"unit"`
	Doc        string     `json:"doc,omitempty"`
	Axes       []Axis     `json:"axes"`
	Storage    Storage    `json:"storage"`
	Resampling TableError `json:"resampling"`
	Rounding   TableError `json:"rounding"`
	File       string     `json:"file,omitempty"` // none in a build without CSV
	SHA256     string     `json:"sha256,omitempty"`
}

// Storage says how a table's values are stored: a value is the offset and so
// many steps.
type Storage struct {
	Type   string `json:"type"`
	Step   Number `json:"step"`
	Offset Number `json:"offset"`
}

// TableError is how far a table is off: the largest error, where, and the mean.
type TableError struct {
	Largest Number       `json:"largest"`
	Mean    Number       `json:"mean"`
	At      []Coordinate `json:"at"`
}

// TargetCounts says how many tunes are written for a target, and how many aren't.
type TargetCounts struct {
	Name    string `json:"name"`
	Written int    `json:"written"`
	Failed  int    `json:"failed"`
}

// TargetStatus is how a tune came out for a target, in index.json.
type TargetStatus struct {
	Name    string   `json:"name"`
	Status  string   `json:"status"`
	Reasons []string `json:"reasons,omitempty"`
}
