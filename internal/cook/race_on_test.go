//go:build race

package cook_test

// racing says that the race detector runs, which makes the solver some twenty times slower.
const racing = true
