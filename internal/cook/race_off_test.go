//go:build !race

package cook_test

// racing says that the race detector runs.
const racing = false
