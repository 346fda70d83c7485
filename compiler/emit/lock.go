package emit

import "errors"

// errLocked says that another process holds a lock.
var errLocked = errors.New("another build holds the lock")
