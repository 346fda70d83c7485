package review

// For the tests over real workspaces.
var (
	Golden      = golden
	Validates   = validates
	FaultOf     = faultOf
	FirstScreen = firstScreen
	Size        = size
)
