package dinner_test

import (
	"flag"
	"os"
	"testing"
)

// TestMain draws fewer random cases in a short run (of these a fifth, by the library), which is how the race detector is used here: it makes
// each ten times slower and looks for other faults.
func TestMain(m *testing.M) {
	flag.Parse()
	if testing.Short() {
		if err := flag.Set("rapid.checks", "40"); err != nil {
			panic(err)
		}
	}
	os.Exit(m.Run())
}
