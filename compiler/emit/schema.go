package emit

import _ "embed"

// TuneSchema is the JSON Schema of tune.json.
//
//go:embed schema/tune.schema.json
var TuneSchema string

// IndexSchema is the JSON Schema of index.json.
//
//go:embed schema/index.schema.json
var IndexSchema string
