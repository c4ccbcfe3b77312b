package bot_test

import (
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/bot"
	"bagwatch/internal/cook"
	"bagwatch/internal/food"
	"bagwatch/internal/quantity"
)

func catalogue(t testing.TB) *food.Catalogue {
	foods, err := food.Load()
	require.NoError(t, err)
	return foods
}

// fullest is a request with every field that is packed at its longest.
func fullest(id food.ID, step food.Doneness) cook.Request {
	return cook.Request{
		Food: id, Pieces: 1000, Mass: 999.9999, MassEach: true, Thickness: 0.9999, ThicknessVague: true,
		Shape: cook.ShapeSphere, Start: cook.StartGiven, StartAt: -35, Doneness: step,
		Setpoint: 99.9, HasSetpoint: true, Pasteurised: true, AtRisk: true, NonIntact: true, Cured: true,
		Span: 60 * 24 * time.Hour, Bath: cook.BathStill,
	}
}

func TestEveryFoodAndDonenessPacksAndComesBack(t *testing.T) {
	foods := catalogue(t)
	for f := range foods.All() {
		for _, s := range f.Steps {
			r := cook.Request{Food: f.ID, Doneness: s.ID}
			packed := bot.Pack(foods, r)
			got, err := bot.Unpack(foods, packed)
			require.NoError(t, err)
			assert.Equal(t, r, got)
			assert.LessOrEqual(t, len(bot.Pack(foods, fullest(f.ID, s.ID))), bot.PackedMax)
		}
	}
}

func TestNumbersComeBackAsTyped(t *testing.T) {
	foods := catalogue(t)
	for name, r := range map[string]cook.Request{
		"millimetres":    {Food: "salmon", Thickness: quantity.Millimetres(27)},
		"inches":         {Food: "salmon", Thickness: quantity.Inches(1.0625)},
		"grams":          {Food: "salmon", Mass: quantity.Grams(450), Pieces: 3, MassEach: true},
		"celsius":        {Food: "salmon", Setpoint: 50.3, HasSetpoint: true},
		"fahrenheit":     {Food: "salmon", Setpoint: quantity.FromFahrenheit(130), HasSetpoint: true},
		"a cold start":   {Food: "salmon", Start: cook.StartGiven, StartAt: -3.5},
		"a start of 0 C": {Food: "salmon", Start: cook.StartGiven},
	} {
		t.Run(name, func(t *testing.T) {
			got, err := bot.Unpack(foods, bot.Pack(foods, r))
			require.NoError(t, err)
			// The packed units are whole for these, so only the last bits of a float may differ.
			assert.InDelta(t, float64(r.Thickness), float64(got.Thickness), 1e-15)
			assert.InDelta(t, float64(r.Mass), float64(got.Mass), 1e-15)
			assert.InDelta(t, float64(r.Setpoint), float64(got.Setpoint), 1e-12)
			assert.InDelta(t, float64(r.StartAt), float64(got.StartAt), 1e-12)
			assert.Equal(t, r.HasSetpoint, got.HasSetpoint)
			assert.Equal(t, r.Start, got.Start)
			assert.Equal(t, r.MassEach, got.MassEach)
		})
	}
}

func TestARandomRequestPacksTheSameTwice(t *testing.T) {
	foods := catalogue(t)
	all := slices.Collect(foods.All())
	rng := rand.New(rand.NewPCG(1, 2))
	for range 5000 {
		f := all[rng.IntN(len(all))]
		r := fullest(f.ID, f.Steps[rng.IntN(len(f.Steps))].ID)
		r.Pieces, r.Mass = rng.IntN(1001), quantity.Mass(rng.Float64()*1000)
		r.Thickness, r.Setpoint = quantity.Length(rng.Float64()), quantity.Temperature(rng.Float64()*100)
		r.StartAt, r.Span = quantity.Temperature(rng.Float64()*80-35), time.Duration(rng.IntN(86400))*time.Minute
		r.HasSetpoint, r.AtRisk, r.Cured = rng.IntN(2) == 0, rng.IntN(2) == 0, rng.IntN(2) == 0
		if !r.HasSetpoint {
			r.Setpoint = 0
		}
		packed := bot.Pack(foods, r)
		require.LessOrEqual(t, len(packed), bot.PackedMax)
		got, err := bot.Unpack(foods, packed)
		require.NoError(t, err)
		require.Equal(t, packed, bot.Pack(foods, got))
		require.Equal(t, r.AtRisk, got.AtRisk)
	}
}

func FuzzUnpack(f *testing.F) {
	foods, err := food.Load()
	require.NoError(f, err)
	for _, s := range []string{"", "AQ", bot.Pack(foods, cook.Request{Food: "egg"}), bot.Pack(foods, fullest("salmon", "just-set")), "=====", "AAAAAAAAAAAAAAAA"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		r, err := bot.Unpack(foods, s)
		if err != nil {
			require.ErrorIs(t, err, bot.ErrPacked)
			require.Zero(t, r)
			return
		}
		require.Equal(t, s, bot.Pack(foods, r), "one request has one packed form")
	})
}
