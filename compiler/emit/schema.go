package emit

import _ "embed"

// TuneSchema is the JSON Schema of tune.json.
//
//go:embed schema/tune.schema.json
var TuneSchema string

// BundleSchema is the JSON Schema of bundle.json.
//
//go:embed schema/bundle.schema.json
var BundleSchema string

// IndexSchema is the JSON Schema of index.json.
//
//go:embed schema/index.schema.json
var IndexSchema string
