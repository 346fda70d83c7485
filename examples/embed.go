// Package examples holds workspaces that build, each a lesson. The smallest is
// embedded: it is what `fettle init` writes.
package examples

import _ "embed"

// First is the source of the smallest workspace worth building.
//
//go:embed first/tune.fettle
var First string
