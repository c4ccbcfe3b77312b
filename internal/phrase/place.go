package phrase

import (
	"bagwatch/internal/cook"
	"bagwatch/internal/quantity"
)

// place puts an amount where its unit says it belongs. Each is set when a count stood before it.
func (r *reader) place(a amount, each bool) {
	before := r.cuesBefore(a.from)
	at := span{a.from, a.end}
	switch {
	case a.bad:
		r.unplaced(a.from, a.end, WhyForm)
		return
	case before&cueSear != 0, r.searing && a.class == classTime:
		r.unplaced(a.from, a.end, WhyAmount)
		return
	case a.class != classHeat && a.value <= 0:
		r.problem(Problem{ID: ProblemNotPositive, Typed: r.slice(a.from, a.end)})
		return
	}
	if a.until > a.other && a.class != classLength {
		r.unplaced(a.other, a.until, WhyRange)
	}
	each = each || (before|r.at(a.end).cues())&cueEach != 0
	if a.class == classMass && before&cueOf != 0 && r.u.Request.Pieces > 1 { // 2 steaks of 400 g
		each = true
	}
	if m, ok := r.at(a.end).has(kindUnit); ok && m.unit == unitPiece { // 125 g portions
		each = true
	}
	switch a.class {
	case classMass:
		r.placeMass(quantity.Mass(a.value), at, each)
	case classLength:
		about := a.vague || (before|r.at(a.end).cues())&cueAbout != 0
		r.placeLength(quantity.Length(a.value), at, before, about)
	case classHeat:
		r.placeHeat(quantity.Temperature(a.value), at, before)
	case classTime:
		r.placeTime(a, before)
	case classPiece:
		r.pieces(a.num, at)
	case classGuest:
		if a.whole && a.value <= maxPieces {
			r.u.Guests = int(a.value)
		}
	}
}

// same is how near two figures for one thing may lie and still be one: "450 g (1 lb)".
const same = 0.03

func alike(a, b float64) bool { return max(a, b)-min(a, b) <= same*max(a, b) }

func (r *reader) placeMass(m quantity.Mass, at span, each bool) {
	req := &r.u.Request
	switch {
	case m > maxMass:
		r.problem(Problem{ID: ProblemTooMuch, Typed: r.slice(at.from, at.end)})
	case r.mass.some() && !alike(float64(m), float64(req.Mass)): // of two pieces the heavier one counts
		req.MassEach = req.MassEach || each || req.Pieces > 1
		if m > req.Mass {
			req.Mass = m
			at, r.mass = r.mass, at
		}
		r.unplaced(at.from, at.end, WhySecond)
	case !r.mass.some():
		req.Mass, req.MassEach = m, each
		r.mass, r.massEnd = at, at.end
	case each:
		req.MassEach = true
	}
}

func (r *reader) placeLength(l quantity.Length, at span, before cue, about bool) {
	req := &r.u.Request
	switch {
	case (before|r.at(at.end).cues())&cueLong != 0:
		r.unplaced(at.from, at.end, WhyDimension)
	case l > maxThickness:
		r.problem(Problem{ID: ProblemTooMuch, Typed: r.slice(at.from, at.end)})
	case !r.thick.some():
		req.Thickness, req.ThicknessVague = l, about
		r.thick = at
	case alike(float64(l), float64(req.Thickness)):
	case r.is(at.from-1, cueTimes): // 3 x 8 x 20 cm: the shortest side counts
		if l < req.Thickness {
			req.Thickness = l
			at, r.thick = r.thick, at
		}
		r.unplaced(at.from, at.end, WhyDimension)
	default: // two thicknesses: the fatter one counts
		if l > req.Thickness {
			req.Thickness = l
			at, r.thick = r.thick, at
		}
		req.ThicknessVague = true
		r.unplaced(at.from, at.end, WhySecond)
	}
}

// A piece can start no warmer than a hot kitchen; above it "from" speaks of the bath.
const (
	warmestStart quantity.Temperature = 40
	coldestStart quantity.Temperature = -90
	hottestBath  quantity.Temperature = hottestCelsius
)

// sameHeat is how near two setpoints may lie and still be one: "60 °C (140 °F)", each rounded
// to a whole degree by whoever wrote it.
const sameHeat quantity.Difference = 0.6

func (r *reader) placeHeat(t quantity.Temperature, at span, before cue) {
	req := &r.u.Request
	start := before&cueFrom != 0 || r.is(at.end, cueColdStart)
	switch {
	case start && t <= warmestStart && t >= coldestStart:
		req.Start, req.StartAt = cook.StartGiven, t
	case t < 0 && t >= coldestStart:
		r.below, r.belowAt = at, t // "frozen -18 C" may still explain it
	case t <= 0 || t > hottestBath:
		r.problem(Problem{ID: ProblemTemperature, Typed: r.slice(at.from, at.end), Temperature: t})
	case !r.bath.some():
		req.Setpoint, req.HasSetpoint = t, true
		r.bath = at
	case quantity.Difference(max(t, req.Setpoint)-min(t, req.Setpoint)) > sameHeat:
		r.problem(Problem{
			ID: ProblemTwoSetpoint, Temperature: t,
			Typed: r.slice(r.bath.from, r.bath.end), Other: r.slice(at.from, at.end),
		})
	}
}

func (r *reader) placeTime(a amount, before cue) {
	d := quantity.Minutes(a.value / 60)
	switch {
	case d > maxSpan:
		r.problem(Problem{ID: ProblemTooMuch, Typed: r.slice(a.from, a.end)})
	case r.is(a.end, cueAgo), before&(cueSince|cueAgo) != 0: // 20 min ago, vor 20 min
		r.u.Ago = d
	case before&cueServe != 0 && before&cueIn != 0:
		r.u.ServeIn = d
	case r.u.Request.Span != 0:
		r.unplaced(a.from, a.end, WhySecond)
	default:
		r.u.Request.Span = d
	}
}

// pieces keeps a count.
func (r *reader) pieces(n num, at span) {
	switch {
	case n.value <= 0:
		r.problem(Problem{ID: ProblemNotPositive, Typed: r.slice(at.from, at.end)})
	case !n.whole:
		r.unplaced(at.from, at.end, WhyNumber)
	case n.value > maxPieces:
		r.problem(Problem{ID: ProblemTooMuch, Typed: r.slice(at.from, at.end)})
	case r.u.Request.Pieces != 0 && r.u.Request.Pieces != int(n.value):
		r.unplaced(at.from, at.end, WhySecond)
	default:
		r.use(at.from, at.end)
		r.u.Request.Pieces = int(n.value)
	}
}

// The house rules for bare numbers; see the package comment.
const (
	mostCounted  = 39  // an integer before a food is a count up to here
	leastBath    = 40  // °C
	leastBathAt  = 25  // °C, when "at" says it is a temperature
	hottestBareF = 212 // °F, boiling at sea level
)

// plain reads a number without a unit and gives the item behind it.
func (r *reader) plain(n num, i int) int {
	before := r.cuesBefore(i)
	at := span{i, n.end}
	r.use(i, n.end)
	switch {
	case n.bad, r.isSymbol(n.end, symPercent):
		r.unplaced(i, n.end, WhyForm)
		return n.end
	case before&cueFrom != 0 && n.value <= float64(warmestStart) && n.value >= float64(coldestStart):
		r.u.Request.Start, r.u.Request.StartAt = cook.StartGiven, quantity.Temperature(n.value)
		return n.end
	case n.negative:
		r.problem(Problem{ID: ProblemNotPositive, Typed: r.slice(i, n.end)})
		return n.end
	case r.is(n.end, cueTimes):
		return r.times(n, at)
	case r.glued(i): // the grade of "striploin a5"
		r.unplaced(i, n.end, WhyNumber)
		return n.end
	case r.is(i-1, cueTimes) && n.whole: // x3, 200 g x 2
		r.pieces(n, at)
		if r.mass.some() && r.massEnd == i-1 {
			r.u.Request.MassEach = true
		}
		return n.end
	}
	end := n.end
	if j, ok := r.rangeMark(n.end); ok { // 2-3 ribeyes, 54-56
		if high, ok := r.number(j); ok && !high.bad && !high.article && high.value > n.value && high.value <= maxSpread*n.value {
			r.unplaced(j, high.end, WhyRange)
			end = high.end
		}
	}
	counted := n.whole && n.value <= mostCounted
	if a, ok := r.quantity(end); ok && counted && n.value > 0 && (a.class == classMass || a.class == classLength) {
		r.pieces(n, at)
		r.use(a.from, a.end)
		r.place(a, a.class == classMass) // 2 200 g
		return a.end
	}
	if a, ok := r.quantity(end + 1); ok && counted && r.isSymbol(end, symAt) && a.class == classMass { // 2 @ 150 g
		r.pieces(n, at)
		r.use(a.from, a.end)
		r.place(a, true)
		return a.end
	}
	food := n.whole && r.foodFollows(end)
	switch {
	case food && counted:
		r.pieces(n, at)
	case n.value >= leastBath && n.value <= hottestBareF, before&cueAt != 0 && n.value >= leastBathAt:
		if n.grouped || r.unitUnknown(end) || !r.degrees.add(degreeFact{n, at, food}) {
			r.unplaced(i, n.end, WhyNumber)
		}
	default:
		r.unplaced(i, n.end, WhyNumber)
	}
	return end
}

// glued reports a number written behind letters without a space, a times sign excepted.
func (r *reader) glued(i int) bool {
	it, t := r.at(i-1), r.token(i)
	return it.sort == sortWord && t.sort == sortNumber && !t.spaced && it.cues()&(cueTimes|cueAt|cueAbout) == 0
}

// unitUnknown reports letters written right behind a number, "80m": a unit that is not known is no °C.
func (r *reader) unitUnknown(i int) bool {
	it, t := r.at(i), r.token(i)
	return i < len(r.items) && it.sort == sortWord && !t.spaced && !r.foodFollows(i)
}

// times reads what stands before a "×": 2 x 200 g, 2 x ribeye, 3 x 8 x 20 cm.
func (r *reader) times(n num, at span) int {
	j := at.end + 1
	if a, ok := r.quantity(j); ok && (a.class == classMass || a.class == classLength) {
		r.pieces(n, at)
		r.use(a.from, a.end)
		r.place(a, a.class == classMass)
		return a.end
	}
	if m, ok := r.number(j); ok && r.is(m.end, cueTimes) { // sides, the unit behind the last
		if a, ok := r.amount(m.end + 1); ok && a.class == classLength && !n.negative && !m.negative {
			r.use(at.from, a.end)
			r.placeLength(quantity.Length(a.unit.base(n.value)), at, 0, false)
			r.placeLength(quantity.Length(a.unit.base(m.value)), span{j, m.end}, 0, false)
			r.placeLength(quantity.Length(a.value), span{a.from, a.end}, 0, false)
			return a.end
		}
	}
	r.pieces(n, at)
	return at.end + 1
}
