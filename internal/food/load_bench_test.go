package food_test

import (
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"bagwatch/internal/food"
)

// Reading the catalogue is part of every start of the program.
func BenchmarkRead(b *testing.B) {
	files := os.DirFS(".")
	b.ReportAllocs()
	for b.Loop() {
		_, err := food.Read(files)
		require.NoError(b, err)
	}
}
