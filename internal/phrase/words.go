package phrase

import "bagwatch/internal/cook"

// word reads a phrase that is no number.
func (r *reader) word(i int) {
	it := &r.items[i]
	if it.sort == sortSymbol {
		r.u.Question = r.u.Question || it.symbol == symQuestion
		r.searing = r.searing && it.symbol != symStop
		return
	}
	if it.unknown() {
		r.unplaced(i, i+1, WhyWord)
		return
	}
	denied := r.cuesBefore(i)&cueNot != 0
	r.searing = r.searing || r.is(i, cueSear)
	idle := true // nothing but a unit, which alone says nothing
	for _, m := range it.means {
		idle = idle && m.kind == kindUnit && m.unit.class() != classPiece && m.unit.class() != classGuest
		switch m.kind {
		case kindUnlisted:
			if !r.strangers.add(span{i, i + 1}) {
				r.unplaced(i, i+1, WhyWord)
			}
			return
		case kindFood, kindVague, kindRefused:
			if !r.names.add(span{i, i + 1}) {
				r.unplaced(i, i+1, WhySecond)
			}
			return
		case kindDoneness:
			switch {
			case denied:
				r.u.Denied.Doneness = true
			case !r.donesses.add(span{i, i + 1}):
				r.unplaced(i, i+1, WhySecond)
			}
			return
		case kindStart:
			r.start(i, cook.StartKind(m.id), denied)
			return
		case kindFlag:
			r.flag(i, m.id, denied)
			return
		case kindShape:
			r.u.Request.Shape = cook.ShapeOverride(m.id)
			return
		case kindBath:
			r.u.Request.Bath = cook.BathKind(m.id)
			return
		case kindIntent:
			// "ready at 19:30" says when to serve, not what is asked.
			if r.u.Intent == "" && !denied && !(Intent(m.id) == IntentReady && r.timeFollows(i+1)) {
				r.u.Intent = Intent(m.id)
			}
			return
		}
	}
	if r.is(i, cueEach) && !(r.thick.some() && r.thick.end == i) {
		_, ok := r.number(i + 1)
		r.each = r.each || !ok
	}
	if r.is(i, cueArticle) {
		next := i + 1
		if a, ok := r.quantity(next); ok { // a 3 cm ribeye
			next = a.end
		}
		r.one = r.one || r.foodFollows(next)
	}
	if idle {
		r.unplaced(i, i+1, WhyWord)
	}
}

// timeFollows reports a clock time or a span at item i, small words skipped.
func (r *reader) timeFollows(i int) bool {
	for k := i; k < i+3; k++ {
		if r.is(k, cueAt|cueBy|cueIn|cueFor|cueAbout) || r.filler(k) {
			continue
		}
		n, ok := r.number(k)
		_, word := r.at(k).has(kindClock)
		return word || r.at(k).sort == sortClock || ok && !n.article
	}
	return false
}

func (r *reader) start(i int, s cook.StartKind, denied bool) {
	req := &r.u.Request
	switch {
	case denied:
		r.u.Denied.Start = true
	case req.Start == "":
		req.Start = s
	case req.Start != s && req.Start != cook.StartGiven:
		r.unplaced(i, i+1, WhySecond)
	}
}

func (r *reader) flag(i int, id string, denied bool) {
	req, d := &r.u.Request, &r.u.Denied
	yes, no := &req.AtRisk, &d.AtRisk
	switch id {
	case flagAtRiskBefore:
		if r.foodFollows(i + 1) {
			return // baby carrots
		}
	case flagNonIntact:
		yes, no = &req.NonIntact, &d.NonIntact
	case flagCured:
		yes, no = &req.Cured, &d.Cured
	case flagPasteurised:
		yes, no = &req.Pasteurised, &d.Pasteurised
	}
	if denied {
		yes = no
	}
	*yes = true
}
