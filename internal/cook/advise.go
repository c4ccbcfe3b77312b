package cook

import (
	"strings"
	"time"

	"bagwatch/internal/food"
	"bagwatch/internal/lethality"
	"bagwatch/internal/quantity"
)

// Bounds from which a long cook gets its advice. Common practice, no source.
const (
	longBag                          = 12 * time.Hour
	longSurface quantity.Temperature = 60
	saltEarly                        = 4 * time.Hour
)

// advise decides how the food is served and what is said with it, most important first.
func (p *Plan) advise() {
	early := p.Cautions // what judge found, said after how it may be eaten
	p.Cautions = nil
	p.serve()
	p.Cautions = append(p.Cautions, early...)
	p.seared()
	p.nationals()
	p.spans()
	p.habits()
}

// serve says whether the food is pasteurised when it is ready, and if not, how it may be eaten.
func (p *Plan) serve() {
	switch {
	case p.Safety == food.Plant:
		p.Serve = ServePlant
		p.caution(Note{ID: CautionPlantKeep, Source: "Morse et al. 1990 Am J Public Health 80:1372; FDA Food Code 3-501.16"})
		return
	case p.Pasteurised.By(p.Ready):
		p.Serve = ServePasteurised
	default:
		p.Serve = ServeLightly
		if p.Safety == food.IntactRedMeat {
			p.Serve = ServeRare
		}
		p.caution(Note{ID: CautionNotPasteurised, Span: p.Pasteurised.After})
	}
	if p.Request.Cured {
		p.caution(Note{ID: CautionNoClaim, Source: "Palumbo et al. 1995 J Food Prot 58:960"})
	}
	switch {
	case p.Serve == ServeRare:
		p.caution(Note{ID: CautionRare, Source: "FDA Food Code 3-401.11(C); UK FSA advice"})
		p.Assumptions = append(p.Assumptions, Note{ID: AssumeIntact})
	case p.Serve == ServeLightly && p.Food.Texture == food.TextureEgg:
		p.caution(Note{ID: CautionSoftEgg, Source: "FDA Food Code 3-801.11; UK FSA 2017"})
	case p.Serve == ServeLightly:
		p.caution(Note{ID: CautionLightlyCooked, Source: "FDA Food Code 3-603.11, from memory"})
	}
	if p.Food.ParasiteFreezing && !lethality.ParasitesCooked(p.CarefulCurve, p.Ready) {
		p.caution(Note{ID: CautionParasites, Source: "FDA Food Code 3-402.11; EFSA 2010"})
	}
	if p.Food.Histamine {
		p.caution(Note{ID: CautionHistamine, Source: "FDA Fish and Fishery Products Hazards and Controls Guidance, scombrotoxin"})
	}
	if p.drier {
		p.caution(Note{ID: CautionDrier})
	}
	if p.Food.Tenderisable && !p.Request.NonIntact && p.Serve == ServeRare {
		p.caution(Note{ID: CautionTenderised, Source: "FDA Food Code 3-401.11(A)(2)"})
	}
}

// seared says how long each face meets the pan. Times: common practice, no source; the chill before it is
// from the finite-slab computation that a 25 mm piece at 55 °C otherwise gains 8–11 K in 60 s a side.
func (p *Plan) seared() {
	if p.Food.Sear == food.SearNone {
		return
	}
	s := &Sear{}
	if p.Safety != food.SafetyFish {
		s.Rest = 3 * time.Minute // common practice; also the rest that US advice asks of whole cuts
	}
	switch mm := p.Thickness.Millimetres(); {
	case mm < 20:
		s.PerSideMin, s.PerSideMax = 30*time.Second, 45*time.Second
	case mm <= 35:
		s.PerSideMin, s.PerSideMax = 45*time.Second, 60*time.Second
		s.ChillMin, s.ChillMax = 3*time.Minute, 5*time.Minute
	default:
		s.PerSideMin, s.PerSideMax = 60*time.Second, 90*time.Second
		s.ChillMin, s.ChillMax = 10*time.Minute, 10*time.Minute
	}
	if p.Serve == ServePasteurised && p.Setpoint >= carryMatters {
		s.ChillMin, s.ChillMax = 0, 0 // nothing is gained by keeping a well done or tough piece cool
	}
	if s.ChillMax > 0 {
		p.caution(Note{ID: CautionSearCarry})
	}
	p.Sear = s
}

// carryMatters is the setpoint above which a step more of doneness is not missed. House rule.
const carryMatters quantity.Temperature = 62.5

// regions are those whose consumer minimum is printed when the reader's country is not known.
var regions = [...]lethality.Region{lethality.UnitedStates, lethality.UnitedKingdom, lethality.Ireland, lethality.Germany}

// countries are the two-letter codes (ISO 3166-1) of the regions, and the common "uk".
var countries = map[string]lethality.Region{
	"us": lethality.UnitedStates, "gb": lethality.UnitedKingdom, "uk": lethality.UnitedKingdom,
	"ie": lethality.Ireland, "de": lethality.Germany,
}

// nationals prints the consumer minimum beside plans for at-risk guests, and beside poultry, where it is
// most often far above what a bath is set to.
func (p *Plan) nationals() {
	if !p.Request.AtRisk && p.Safety != food.Poultry {
		return
	}
	home, known := countries[strings.ToLower(p.Request.Country)]
	for _, region := range regions {
		if known && region != home {
			continue
		}
		m, ok := lethality.ConsumerMinimum(region, lethality.Class(p.Safety))
		if !ok || (m.At <= p.Setpoint && !p.Request.AtRisk) {
			continue
		}
		n := Note{ID: CautionNational, Ref: string(region), Temperature: m.At, Span: m.Hold, Source: m.Source}
		if m.Rest > 0 {
			n.Span, n.Count = m.Rest, 1 // Count marks a rest after cooking instead of a hold
		}
		p.caution(n)
	}
}

// spans compares how long the cook means to leave it with the window.
func (p *Plan) spans() {
	switch span := p.Request.Span; {
	case span <= 0:
	case span < p.Ready:
		p.caution(Note{ID: CautionSpanShort, Span: p.Ready - span})
	case span > p.BestBefore:
		p.caution(Note{ID: CautionSpanLong, Span: span - p.BestBefore})
	}
}

// habits are the practical notes of the trade.
func (p *Plan) habits() {
	if p.Guessed {
		p.caution(Note{ID: CautionMeasure})
	}
	if p.Food.Proportions.Shape == food.EggShape {
		return
	}
	p.Assumptions = append(p.Assumptions, Note{ID: AssumeSingleLayer})
	if p.Pieces > 1 && p.Likely.Shape.Kind != p.Careful.Shape.Kind && p.Food.Proportions.Round {
		p.Assumptions = append(p.Assumptions, Note{ID: AssumeOneBag, Count: p.Pieces})
	}
	if p.Ready > longBag {
		p.caution(Note{ID: CautionLongBag})
		if p.Setpoint < longSurface && p.Safety != food.Plant {
			p.caution(Note{ID: CautionLongSurface})
		}
	}
	if p.Ready > saltEarly && p.Safety != food.Plant {
		p.caution(Note{ID: CautionSaltLate})
	}
}
