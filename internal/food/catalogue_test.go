package food_test

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/internal/food"
	"bagwatch/internal/lethality"
	"bagwatch/internal/quantity"
)

// expected is what the catalogue promises to know.
var expected = []food.ID{
	"beef-strip-steak", "beef-ribeye", "beef-tenderloin", "beef-sirloin", "beef-flank", "beef-skirt", "beef-hanger",
	"beef-tri-tip", "beef-chuck-roast", "beef-brisket", "beef-short-rib", "beef-cheek", "beef-round-roast", "beef-patty",
	"veal-chop", "lamb-rack", "lamb-chop", "lamb-leg", "lamb-shank", "lamb-shoulder",
	"pork-chop", "pork-tenderloin", "pork-loin-roast", "pork-belly", "pork-shoulder", "pork-ribs", "sausage", "venison-loin",
	"chicken-breast", "chicken-thigh", "chicken-leg", "chicken-wing", "turkey-breast", "turkey-leg", "duck-breast", "duck-leg", "poultry-patty",
	"salmon", "trout", "halibut", "cod", "haddock", "hake", "snapper", "sea-bass", "tuna", "swordfish", "mackerel", "monkfish",
	"shrimp", "lobster-tail", "scallop", "octopus", "squid", "egg", "duck-egg", "quail-egg",
	"carrot", "potato", "sweet-potato", "beet", "parsnip", "turnip", "celeriac", "asparagus", "green-bean", "corn", "fennel",
	"onion", "leek", "squash", "cauliflower", "artichoke", "apple", "pear", "custard",
}

func TestEveryPromisedFoodIsThereAndNoOther(t *testing.T) {
	var got []food.ID
	for f := range catalogue(t).All() {
		got = append(got, f.ID)
	}
	assert.ElementsMatch(t, expected, got)
	assert.True(t, slices.IsSorted(got), "All goes in the order of the ids")
	assert.Equal(t, len(got), catalogue(t).Len())
}

func TestUnknownIdsAreNotFound(t *testing.T) {
	c := catalogue(t)
	f, ok := c.Food("mussel")
	assert.False(t, ok, "a refused food is not a food")
	assert.Empty(t, f.ID)
	_, ok = c.Refused("salmon")
	assert.False(t, ok)
	_, ok = c.Vague("salmon")
	assert.False(t, ok)
}

// House rule: intact red meat other than pork, duck breast, finfish, shrimp, scallop and lobster; nothing else.
func TestOnlyTheseMayBeServedBeforeTheyArePasteurised(t *testing.T) {
	for f := range catalogue(t).All() {
		want := f.ID == "duck-breast"
		switch f.Group {
		case food.Beef, food.Veal, food.Lamb, food.Game:
			want = f.Safety == food.IntactRedMeat
		case food.Fish, food.Shellfish:
			want = true
		}
		assert.Equal(t, want, f.ServeBeforePasteurised, f.ID)
		assert.Equal(t, f.Group == food.Game, f.FarmedOnly, f.ID)
	}
}

func TestEveryFoodFallsUnderTheRuleOfItsGroup(t *testing.T) {
	for f := range catalogue(t).All() {
		want := food.Safety("")
		switch f.Group {
		case food.Beef, food.Veal, food.Lamb, food.Pork, food.Game:
			want = food.IntactRedMeat
			if f.ID == "beef-patty" || f.ID == "sausage" {
				want = food.NonIntactRedMeat
			}
		case food.Chicken, food.Turkey, food.Duck:
			want = food.Poultry
		case food.Fish, food.Shellfish, food.Cephalopod:
			want = food.SafetyFish
		case food.Egg, food.Custard:
			want = food.SafetyEgg
		case food.Vegetable, food.Fruit:
			want = food.Plant
		}
		assert.Equal(t, want, f.Safety, f.ID)
		assert.True(t, lethality.Class(f.Safety).Known(), "%s: %s has no lethality rule", f.ID, f.Safety)
	}
}

func TestFishIsFrozenAgainstParasitesUnlessItIsTuna(t *testing.T) {
	for f := range catalogue(t).All() {
		// Source: FDA Food Code 3-402.11 exempts tuna of the genus Thunnus and molluscan shellfish.
		assert.Equal(t, f.Group == food.Fish && f.ID != "tuna", f.ParasiteFreezing, f.ID)
		// Source: FDA Fish and Fishery Products Hazards and Controls Guidance, scombrotoxin.
		assert.Equal(t, f.ID == "tuna" || f.ID == "mackerel", f.Histamine, f.ID)
	}
}

// Fat picks the poultry column: with skin on or with another bird's figure it must stay unknown.
func TestFatIsKnownOnlyWhereItWasMeasuredOnThatFood(t *testing.T) {
	for id, want := range map[food.ID]float64{
		"chicken-breast": 2.62, "chicken-thigh": 4.12, "turkey-breast": 1.48, // USDA Standard Reference
		"chicken-leg": food.FatUnknown, "chicken-wing": food.FatUnknown, "turkey-leg": food.FatUnknown,
		"duck-breast": food.FatUnknown, "duck-leg": food.FatUnknown, "poultry-patty": food.FatUnknown,
	} {
		f, ok := catalogue(t).Food(id)
		require.True(t, ok, id)
		assert.InDelta(t, want, f.FatPercent, 1e-9, "%s: exact decimal of the table", id)
	}
	for f := range catalogue(t).All() {
		if f.Material.Nearest {
			assert.EqualValues(t, food.FatUnknown, f.FatPercent, f.ID)
		}
	}
}

func TestDefaultsOfTheTrade(t *testing.T) {
	for id, want := range map[food.ID]struct {
		doneness food.Doneness
		c        quantity.Temperature
	}{
		"beef-ribeye": {"medium-rare", 55.5}, "lamb-rack": {"medium-rare", 55.5}, "venison-loin": {"medium-rare", 55.5},
		"pork-chop": {"medium", 60}, "beef-patty": {"medium-well", 62}, "sausage": {"medium-well", 62},
		"chicken-breast": {"springy", 63.5}, "turkey-breast": {"supple", 61}, "duck-breast": {"medium", 58.5},
		"chicken-thigh": {"tender-leg", 74}, "chicken-leg": {"tender-leg", 74}, "chicken-wing": {"tender-leg", 74},
		"duck-leg": {"falling-apart", 75}, "beef-chuck-roast": {"sliceable", 57}, "beef-brisket": {"fork-tender", 68},
		"beef-short-rib": {"sliceable", 57}, "pork-shoulder": {"falling-apart", 74},
		"salmon": {"just-set", 50.5}, "tuna": {"just-set", 48}, "lobster-tail": {"just-set", 56}, "shrimp": {"just-set", 60},
		"scallop": {"just-set", 52}, "octopus": {"fork-tender", 77}, "squid": {"sliceable", 60},
		"egg": {"custard", 64}, "carrot": {"tender", 85}, "custard": {"pouring", 82},
	} {
		f, ok := catalogue(t).Food(id)
		require.True(t, ok, id)
		s := f.DefaultStep()
		assert.Equal(t, want.doneness, s.ID, id)
		assert.Equal(t, want.c, s.Default, id)
	}
}

// The least setpoints: a food that must be pasteurised before it is served may not have a
// doneness at which no kill can be claimed. Sources: FSIS 2021 Revised Appendix A (54.4 °C
// red meat, 57.8 °C poultry), 9 CFR 590.570 (56.7 °C egg); 60 °C for minced meat is a house rule.
func TestNoDonenessLeadsToAPlanThatCannotBePasteurised(t *testing.T) {
	for f := range catalogue(t).All() {
		if f.ServeBeforePasteurised {
			continue
		}
		least := quantity.Temperature(54.4)
		switch f.Safety {
		case food.Poultry:
			least = 57.8
		case food.SafetyEgg:
			least = 56.7
		case food.NonIntactRedMeat:
			least = 60
		}
		for _, s := range f.Steps {
			assert.GreaterOrEqual(t, s.Min, least, "%s %s", f.ID, s.ID)
		}
	}
}

func TestStepsRiseAndAreFoundByTheirTemperature(t *testing.T) {
	for f := range catalogue(t).All() {
		for i, s := range f.Steps {
			found, ok := f.Step(s.ID)
			require.True(t, ok)
			assert.Equal(t, s, found)
			if f.Texture == food.TexturePlant {
				continue // there the time makes the difference, not the water
			}
			if i > 0 {
				assert.Greater(t, s.Min, f.Steps[i-1].Max, "%s %s", f.ID, s.ID)
			}
			for _, at := range []quantity.Temperature{s.Min, s.Default, s.Max} {
				found, ok = f.StepAt(at)
				assert.True(t, ok && found.ID == s.ID, "%s at %v", f.ID, at)
			}
		}
		_, ok := f.StepAt(20)
		assert.False(t, ok, f.ID)
		_, ok = f.Step("crisp")
		assert.False(t, ok, f.ID)
	}
}

func TestPlantsAskForAShareOfSoftening(t *testing.T) {
	f, ok := catalogue(t).Food("carrot")
	require.True(t, ok)
	firm, _ := f.Step("firm")
	tender, _ := f.Step("tender")
	assert.Equal(t, 0.75, firm.Softened)
	assert.Equal(t, 0.90, tender.Softened)
	assert.EqualValues(t, 85, firm.Default)
	for id, want := range map[food.ID]float64{"asparagus": 5, "green-bean": 2.5, "corn": 2.5, "apple": 2,
		"cauliflower": 1.3, "carrot": 1, "potato": 1, "fennel": 1, "onion": 0.8, "beet": 0.6} {
		f, ok := catalogue(t).Food(id)
		require.True(t, ok, id)
		assert.Equal(t, want, f.Softening, id)
	}
}

func TestToughCutsKnowTheirSlowTime(t *testing.T) {
	for id, want := range map[food.ID]int{
		"beef-chuck-roast": 1440, "pork-belly": 1440, "pork-ribs": 1440, "duck-leg": 1440, "beef-brisket": 2160,
		"beef-short-rib": 2160, "pork-shoulder": 2160, "beef-cheek": 1800, "lamb-shank": 1800, "turkey-leg": 1080,
		"beef-round-roast": 900, "octopus": 900, "squid": 120,
	} {
		f, ok := catalogue(t).Food(id)
		require.True(t, ok, id)
		assert.Equal(t, food.TextureTough, f.Texture, id)
		assert.Equal(t, time.Duration(want)*time.Minute, f.T60, id)
	}
}

// The guess from mass must grow with it. At the largest mass the proportions may overshoot the
// thickness limit (a heavy cut is longer, not only thicker), but not by so much that a limit is a slip.
func TestThicknessGrowsWithMassAndStaysNearTheLimits(t *testing.T) {
	for f := range catalogue(t).All() {
		last := quantity.Length(0)
		for i := range 50 {
			m := f.Limits.MassMin + (f.Limits.MassMax-f.Limits.MassMin)*quantity.Mass(i)/49
			x := f.Thickness(m)
			require.Greater(t, x, last, f.ID)
			last = x
		}
		assert.Less(t, last, 2.5*f.Limits.ThicknessMax, "%s: %.0f mm at the largest mass", f.ID, last.Millimetres())
	}
}

func TestRoundIsForWholeRoundPieces(t *testing.T) {
	for f := range catalogue(t).All() {
		if f.Proportions.Round {
			assert.Contains(t, []food.Shape{food.Cylinder, food.Sphere, food.EggShape}, f.Proportions.Shape, f.ID)
		}
	}
	for id, want := range map[food.ID]bool{"pork-tenderloin": true, "sausage": true, "egg": true, "carrot": true,
		"chicken-leg": false, "lamb-shank": false, "monkfish": false, "cauliflower": false, "custard": false} {
		f, ok := catalogue(t).Food(id)
		require.True(t, ok, id)
		assert.Equal(t, want, f.Proportions.Round, id)
	}
}

func TestDangerousFoodsAreRefusedByName(t *testing.T) {
	c := catalogue(t)
	for id, want := range map[food.ID]food.Reason{
		"mussel": food.ReasonVirus, "clam": food.ReasonVirus, "oyster": food.ReasonVirus, "cockle": food.ReasonVirus, "razor-clam": food.ReasonVirus,
		"liver": food.ReasonOffal, "kidney": food.ReasonOffal, "sweetbread": food.ReasonOffal, "heart": food.ReasonOffal, "tongue": food.ReasonOffal,
		"wild-boar": food.ReasonWildGame, "bear": food.ReasonWildGame, "rabbit": food.ReasonWildGame, "hare": food.ReasonWildGame,
		"garlic-confit": food.ReasonBotulism, "garlic-in-oil": food.ReasonBotulism, "yoghurt": food.ReasonFerment,
		"kidney-bean": food.ReasonLectin, "dried-bean": food.ReasonLectin, "lentil": food.ReasonLectin, "chickpea": food.ReasonLectin,
		"cured-meat": food.ReasonCured, "whole-bird": food.ReasonCavity,
	} {
		r, ok := c.Refused(id)
		require.True(t, ok, id)
		assert.Equal(t, want, r.Reason, id)
	}
}

func TestVagueWordsOfferOthersThanTheOneTaken(t *testing.T) {
	for v := range catalogue(t).AllVague() {
		assert.NotContains(t, v.Others, v.Food, v.ID)
		sorted := slices.Sorted(slices.Values(v.Others))
		assert.Len(t, slices.Compact(sorted), len(v.Others), "%s offers one twice", v.ID)
	}
	v, ok := catalogue(t).Vague("steak")
	require.True(t, ok)
	assert.Equal(t, food.ID("beef-ribeye"), v.Food)
	assert.Contains(t, v.Others, food.ID("beef-strip-steak"))
}

func TestLookingUpAllocatesNothing(t *testing.T) {
	c := catalogue(t)
	found := 0
	allocs := testing.AllocsPerRun(100, func() {
		if f, ok := c.Food("beef-ribeye"); ok {
			s := f.DefaultStep()
			found += int(s.Min)
		}
		if _, ok := c.Refused("mussel"); ok {
			found++
		}
		if _, ok := c.Vague("steak"); ok {
			found++
		}
	})
	assert.Zero(t, allocs)
	assert.NotZero(t, found)
}

func TestLoadReadsOnce(t *testing.T) {
	first, err := food.Load()
	require.NoError(t, err)
	second, err := food.Load()
	require.NoError(t, err)
	assert.Same(t, first, second)
}

func ExampleLoad() {
	c, err := food.Load()
	if err != nil {
		fmt.Println(err)
		return
	}
	ribeye, _ := c.Food("beef-ribeye")
	step := ribeye.DefaultStep()
	fmt.Printf("%s at %.1f °C; 450 g are %.0f mm\n", step.ID, float64(step.Default), ribeye.Thickness(quantity.Grams(450)).Millimetres())
	// Output: medium-rare at 55.5 °C; 450 g are 33 mm
}

func BenchmarkFood(b *testing.B) {
	c := catalogue(b)
	b.ReportAllocs()
	for b.Loop() {
		_, _ = c.Food("beef-ribeye")
	}
}
