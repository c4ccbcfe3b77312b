package heat_test

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"bagwatch/internal/heat"
	"bagwatch/internal/quantity"
)

// row is one line of a table by column name.
type row map[string]string

// table reads testdata/tables/name.csv, whose leading # lines name the source.
func table(t testing.TB, name string) []row {
	t.Helper()
	file, err := os.Open(filepath.Join("..", "..", "testdata", "tables", name+".csv"))
	require.NoError(t, err)
	defer file.Close()
	reader := csv.NewReader(file)
	reader.Comment = '#'
	lines, err := reader.ReadAll()
	require.NoError(t, err)
	var rows []row
	for _, line := range lines[1:] {
		r := row{}
		for i, column := range lines[0] {
			r[column] = line[i]
		}
		rows = append(rows, r)
	}
	require.NotEmpty(t, rows)
	return rows
}

// number reads a column that must hold a number.
func (r row) number(t testing.TB, column string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(r[column], 64)
	require.NoError(t, err, column)
	return v
}

// has reports whether the column is filled.
func (r row) has(column string) bool { return r[column] != "" }

// reference is one row of reference_solutions.csv.
type reference struct {
	row
	piece   heat.Piece
	history heat.History
}

func secondsSpan(s float64) time.Duration { return time.Duration(s * 1e9) }

// references reads all reference solutions.
func references(t testing.TB) []reference {
	var all []reference
	for _, r := range table(t, "reference_solutions") {
		mm := func(column string) quantity.Length { return quantity.Millimetres(r.number(t, column)) }
		var shape heat.Shape
		switch r["shape"] {
		case "slab":
			shape = heat.NewSlab(mm("dim1_mm"))
		case "cylinder":
			shape = heat.NewCylinder(mm("dim1_mm"))
		case "sphere":
			shape = heat.NewSphere(mm("dim1_mm"))
		case "brick":
			shape = heat.NewBrick(mm("dim1_mm"), mm("dim2_mm"), mm("dim3_mm"))
		case "finite_cylinder":
			shape = heat.NewFiniteCylinder(mm("dim1_mm"), mm("dim2_mm"))
		default:
			t.Fatalf("unknown shape %q", r["shape"])
		}
		var history heat.History
		for _, part := range strings.Split(r["profile_t_s:bath_C:h_W_m2K"], "|") {
			var v [3]float64
			for i, text := range strings.Split(part, ":") {
				var err error
				v[i], err = strconv.ParseFloat(text, 64)
				require.NoError(t, err)
			}
			history = append(history, heat.Hold(secondsSpan(v[0]), quantity.Temperature(v[1]), heat.Film(v[2])))
		}
		all = append(all, reference{r, heat.Piece{
			Shape: shape,
			Material: heat.Material{
				Diffusivity:  heat.Diffusivity(r.number(t, "alpha_m2_s")),
				Conductivity: heat.Conductivity(r.number(t, "k_W_mK")),
			},
			Start: quantity.Temperature(r.number(t, "T0_C")),
		}, history})
	}
	return all
}
