package phrase_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"bagwatch/internal/cook"
	"bagwatch/internal/phrase"
)

func TestAmendmentsChangeWhatTheySay(t *testing.T) {
	p := book(t).Parser("en")
	base := request(ribeye, g(450), done(mr))
	for typed, want := range map[string]cook.Request{
		"3 cm":                  request(ribeye, g(450), done(mr), mm(30)),
		"it's 3 cm thick":       request(ribeye, g(450), done(mr), mm(30)),
		"about 3 cm":            request(ribeye, g(450), done(mr), mm(30), about),
		"rare":                  request(ribeye, g(450), done(rare)),
		"make it medium please": request(ribeye, g(450), done(medium)),
		"from frozen":           request(ribeye, g(450), done(mr), start(cook.StartFrozen)),
		"from 12 °C":            request(ribeye, g(450), done(mr), from(12)),
		"4 pieces":              request(ribeye, g(450), done(mr), n(4)),
		"x4":                    request(ribeye, g(450), done(mr), n(4)),
		"each":                  request(ribeye, g(450), done(mr), each),
		"2 x 300 g":             request(ribeye, n(2), g(300), each, done(mr)),
		"600g":                  request(ribeye, g(600), done(mr)),
		"for grandma":           request(ribeye, g(450), done(mr), atRisk),
		"tenderised":            request(ribeye, g(450), done(mr), nonIntact),
		"57":                    request(ribeye, g(450), c(57)),
		"at 57 °C":              request(ribeye, g(450), c(57)),
		"135F":                  request(ribeye, g(450), f(135)),
		"3 cm, rare":            request(ribeye, g(450), mm(30), done(rare)),
		"for 3 h":               request(ribeye, g(450), done(mr), span(3*time.Hour)),
		"not medium rare":       request(ribeye, g(450)),
	} {
		t.Run(typed, func(t *testing.T) {
			u, ok := p.Amend(base, typed)
			assert.True(t, ok)
			assert.Nil(t, u.Problem)
			assert.Equal(t, rounded(want), rounded(u.Request))
			assert.Empty(t, u.Unplaced)
		})
	}
}

func TestAmendmentsTakeBack(t *testing.T) {
	p := book(t).Parser("en")
	base := request(ribeye, atRisk, nonIntact, start(cook.StartFrozen), c(60))
	for typed, want := range map[string]cook.Request{
		"not frozen":        request(ribeye, atRisk, nonIntact, c(60)),
		"nobody pregnant":   request(ribeye, nonIntact, start(cook.StartFrozen), c(60)),
		"not tenderised":    request(ribeye, atRisk, start(cook.StartFrozen), c(60)),
		"medium rare":       request(ribeye, atRisk, nonIntact, start(cook.StartFrozen), done(mr)),
		"room temperature":  request(ribeye, atRisk, nonIntact, start(cook.StartRoom), c(60)),
		"from the fridge":   request(ribeye, atRisk, nonIntact, start(cook.StartFridge), c(60)),
		"pregnant, for 2 h": request(ribeye, atRisk, nonIntact, start(cook.StartFrozen), c(60), span(2*time.Hour)),
	} {
		t.Run(typed, func(t *testing.T) {
			u, ok := p.Amend(base, typed)
			assert.True(t, ok)
			assert.Equal(t, rounded(want), rounded(u.Request))
		})
	}
}

func TestWhatIsNoAmendment(t *testing.T) {
	p := book(t).Parser("en")
	base := request(ribeye, g(450), done(mr))
	for typed, why := range map[string]string{
		"salmon 3 cm":  "a food makes it a request of its own",
		"liver":        "so does a refused one",
		"medium rare":  "nothing changes",
		"asdf":         "nothing is understood",
		"":             "nothing is there",
		"-3 cm":        "the amount is wrong",
		"5000 C":       "no bath is so hot",
		"just set":     "a ribeye is never just set",
		"how are you?": "small talk",
	} {
		t.Run(why, func(t *testing.T) {
			_, ok := p.Amend(base, typed)
			assert.False(t, ok)
		})
	}
	u, _ := p.Amend(base, "just set")
	assert.Equal(t, []phrase.Token{{Text: "just set", Why: phrase.WhyDoneness}}, u.Unplaced)
}

func TestGermanAmendments(t *testing.T) {
	p := book(t).Parser("de")
	base := request(ribeye, g(450), done(mr))
	for typed, want := range map[string]cook.Request{
		"3 cm dick":       request(ribeye, g(450), done(mr), mm(30)),
		"lieber blutig":   request(ribeye, g(450), done(rare)),
		"tiefgefroren":    request(ribeye, g(450), done(mr), start(cook.StartFrozen)),
		"4 Stück":         request(ribeye, g(450), done(mr), n(4)),
		"für die Kinder":  request(ribeye, g(450), done(mr), atRisk),
		"je 300 g":        request(ribeye, g(300), each, done(mr)),
		"bei 57,5 Grad":   request(ribeye, g(450), c(57.5)),
		"zwei Stunden":    request(ribeye, g(450), done(mr), span(2*time.Hour)),
		"actually 3.5 cm": request(ribeye, g(450), done(mr), mm(35)),
	} {
		t.Run(typed, func(t *testing.T) {
			u, ok := p.Amend(base, typed)
			assert.True(t, ok)
			assert.Equal(t, rounded(want), rounded(u.Request))
		})
	}
}
