package explain

import _ "embed"

// Schema is the published schema of a chain's JSON.
//
//go:embed schema/why.schema.json
var Schema string
