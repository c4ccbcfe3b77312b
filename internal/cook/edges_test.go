package cook_test

import (
	"errors"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/internal/cook"
	"bagwatch/internal/food"
	"bagwatch/internal/heat"
	"bagwatch/internal/quantity"
)

// Requests at the edges of the rules, each once answered less safely than it should have been.

func TestLongCooksArePasteurised(t *testing.T) {
	m := model(t)
	for name, r := range map[string]cook.Request{
		"brisket at 54.4":                 at("beef-brisket", 50, 54.4),
		"brisket at 57, thermometer ±4":   with(at("beef-brisket", 50, 57), func(r *cook.Request) { r.ThermometerError = 4 }),
		"short rib at 56, thermometer ±3": with(at("beef-short-rib", 45, 56), func(r *cook.Request) { r.ThermometerError = 3 }),
	} {
		p, err := m.Plan(r)
		if err == nil {
			assert.True(t, p.Pasteurised.By(p.Ready) || p.BestBefore <= 4*time.Hour, "%s: served %s after %v, never pasteurised", name, p.Serve, p.Ready)
		}
	}
}

func TestStuffedDuckAndFishWait(t *testing.T) {
	m := model(t)
	for _, id := range []food.ID{"duck-breast", "salmon"} {
		p, err := m.Plan(with(at(id, 25, 59), nonIntact))
		if err == nil {
			assert.True(t, p.Pasteurised.By(p.Ready), "%s", id)
		}
	}
}

func TestCustardKeepsToItsRange(t *testing.T) {
	_, err := model(t).Plan(with(at("custard", 55, 60), atRisk))
	assert.Error(t, err, "sugared yolk at 60 °C has no pair here")
}

func TestNationalMinimumByCountryCode(t *testing.T) {
	m := model(t)
	for _, code := range []string{"us", "gb", "de", "ie", "fr", "DE"} {
		p := planned(t, m, with(at("beef-patty", 25, 68), func(r *cook.Request) { r.AtRisk, r.Country = true, code }))
		assert.Contains(t, cautions(p), cook.CautionNational, code)
	}
}

func TestShapeIsBelievedWhereSlower(t *testing.T) {
	m := model(t)
	p := planned(t, m, with(at("pork-tenderloin", 55, 60), func(r *cook.Request) { r.Shape = cook.ShapeBlock }))
	assert.Equal(t, heat.Brick, p.Careful.Shape.Kind)
	assert.GreaterOrEqual(t, p.CoreCareful.After, p.CoreReached)
}

func TestThinJointsAreSlabs(t *testing.T) {
	p := planned(t, model(t), at("beef-chuck-roast", 25, 65))
	assert.GreaterOrEqual(t, p.Pasteurised.After.Minutes(), 55.0, "published 55 min")
	assert.Equal(t, heat.Slab, p.Careful.Shape.Kind)
}

func TestNoModelFailures(t *testing.T) {
	m := model(t)
	for name, r := range map[string]cook.Request{
		"frozen custard":      with(at("custard", 55, 82), func(r *cook.Request) { r.Start = cook.StartFrozen }),
		"skirt 34 mm":         at("beef-skirt", 35, 56),
		"skirt guessed 32 mm": with(at("beef-skirt", 32, 56), func(r *cook.Request) { r.ThicknessVague = true }),
		"thermometer NaN":     with(at("salmon", 25, 55), func(r *cook.Request) { r.ThermometerError = quantity.Difference(math.NaN()) }),
		"thermometer 1000":    with(at("salmon", 25, 55), func(r *cook.Request) { r.ThermometerError = 1000 }),
	} {
		_, err := m.Plan(r)
		var refusal *cook.Refusal
		assert.True(t, err == nil || errors.As(err, &refusal), "%s: %v", name, err)
	}
}

func TestHugeThicknessReturns(t *testing.T) {
	m := model(t)
	done := make(chan struct{})
	go func() {
		defer close(done)
		_, _ = m.Plan(with(at("custard", 1e300, 60), atRisk))
		_, _ = m.Plan(with(at("salmon", 1e300, 45), atRisk))
		_, _ = m.Plan(with(at("chicken-breast", 1e300, 60), cured))
	}()
	select {
	case <-done:
	case <-time.After(2 * time.Second):
		require.Fail(t, "a refusal's search never ends")
	}
}
