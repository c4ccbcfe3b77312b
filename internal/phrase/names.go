package phrase

import (
	"slices"

	"bagwatch/internal/food"
)

// resolveFood picks the food among the names, and the doneness that fits it.
func (r *reader) resolveFood() {
	main := -1 // the item of the food: the first that is spelt right
	for _, s := range r.names.all() {
		if _, ok := r.items[s.from].has(kindFood); ok && (main < 0 || r.items[main].corrected && !r.items[s.from].corrected) && !r.onlyDoneness(s.from) {
			main = s.from
		}
	}
	if main >= 0 {
		m, _ := r.items[main].has(kindFood)
		r.u.Food = FoodMatch{ID: food.ID(m.id), Typed: r.slice(main, main+1), Corrected: r.items[main].corrected}
	}
	r.resolveNames(main)
	r.resolveStrangers()
	r.resolveDoneness()
	r.u.Request.Food = r.u.Food.ID
}

// onlyDoneness reports a food that is also the id of a doneness ("custard") beside another
// name that has this doneness.
func (r *reader) onlyDoneness(i int) bool {
	d, ok := r.items[i].has(kindFood)
	if !ok {
		return false
	}
	for _, s := range r.names.all() {
		for _, m := range r.items[s.from].means {
			if s.from == i || m.kind != kindFood {
				continue
			}
			if r.has(food.ID(m.id), food.Doneness(d.id)) {
				return true
			}
		}
	}
	return false
}

// resolveNames settles the names beside the main food: vague words narrow each other down.
func (r *reader) resolveNames(main int) {
	var options []food.ID
	var typed span
	corrected := false
	for _, s := range r.names.all() {
		it := &r.items[s.from]
		if s.from == main {
			continue
		}
		if m, ok := it.has(kindRefused); ok {
			switch {
			case r.cuesBefore(s.from)&cueNot != 0:
			case it.corrected && main >= 0 && !r.items[main].corrected:
				r.unplaced(s.from, s.end, WhyWord)
			case r.u.RefusedFood == "":
				r.u.RefusedFood, r.u.RefusedTyped = m.id, r.slice(s.from, s.end)
			}
			continue
		}
		if m, ok := it.has(kindFood); ok {
			switch {
			case r.onlyDoneness(s.from):
				r.donesses.add(s)
			case it.corrected:
				r.unplaced(s.from, s.end, WhyWord)
			case food.ID(m.id) != r.u.Food.ID:
				r.unplaced(s.from, s.end, WhySecond)
			}
			continue
		}
		m, _ := it.has(kindVague)
		fits := r.p.book.vague[m.id]
		switch {
		case main >= 0:
			if !slices.Contains(fits, r.u.Food.ID) && !r.beside(s.from, main) {
				r.unplaced(s.from, s.end, WhySecond)
			}
		case options == nil:
			options, typed, corrected = fits, s, it.corrected
		default:
			if both := common(options, fits); len(both) > 0 {
				options, typed.end, corrected = both, s.end, corrected || it.corrected
			} else {
				r.unplaced(s.from, s.end, WhySecond)
			}
		}
	}
	if len(options) > 0 && !r.unknownAnimal(typed, options) {
		r.vague = typed
		r.u.Food = FoodMatch{
			ID: options[0], Typed: r.slice(typed.from, typed.end), Corrected: corrected,
			Vague: len(options) > 1, Alternatives: options[1:],
		}
		if !r.u.Food.Vague {
			r.u.Food.Alternatives = nil
		}
	}
}

// beside reports that only filler stands between two items.
func (r *reader) beside(i, j int) bool {
	for k := min(i, j) + 1; k < max(i, j); k++ {
		if !r.filler(k) || r.is(k, cueAnd) {
			return false
		}
	}
	return true
}

// common keeps the foods of a that are in b too, in the order of a.
func common(a, b []food.ID) []food.ID {
	var both []food.ID
	for _, id := range a {
		if slices.Contains(b, id) {
			both = append(both, id)
		}
	}
	return both
}

// animals are the vague words that say which animal it is, so that a strange word beside them
// is only a recipe ("lemon chicken"). The other vague words are cuts and kinds.
var animals = map[string]bool{
	"beef": true, "veal": true, "lamb": true, "pork": true, "venison": true, "chicken": true, "turkey": true, "duck": true,
}

// unknownAnimal reports a problem when a cut stands beside a word that is not known: a goat
// shoulder is never taken for a pork shoulder. The known ones are suggested.
func (r *reader) unknownAnimal(typed span, options []food.ID) bool {
	if r.namesAnimal() {
		return false
	}
	from, end := typed.from, typed.end
	switch {
	case r.at(from-1).unknown() && !r.at(from-1).elided:
		from--
	case r.is(end, cueOf) && r.at(end+1).unknown():
		end += 2
	default:
		return false
	}
	r.noData(ProblemNoFood, span{from, end}, options)
	return true
}

func (r *reader) namesAnimal() bool {
	for _, s := range r.names.all() {
		if m, ok := r.items[s.from].has(kindVague); ok && animals[m.id] {
			return true
		}
	}
	return false
}

// noData reports that what was typed is no food of the catalogue, with the foods it is near to.
func (r *reader) noData(id ProblemID, typed span, near []food.ID) {
	r.problem(Problem{ID: id, Typed: r.slice(typed.from, typed.end), Suggestions: slices.Clone(near[:min(len(near), maxSuggestions)])})
}

// resolveStrangers settles the foods that are not in the catalogue. Without another food, or
// right before one ("bison ribeye", "shark steak"), or beside a mere kind ("tilapia, white
// fish") they are what is asked, and there is no data for it; else they are a side dish.
func (r *reader) resolveStrangers() {
	for _, s := range r.strangers.all() {
		asked := s
		switch {
		case r.u.Food.ID == "" && r.u.RefusedFood == "":
		case r.isName(s.end):
			asked.end++
		case r.is(s.from-1, cueOf) && r.isName(s.from-2): // leg of goat
			asked.from -= 2
		case r.vague.some() && !r.namesAnimal():
		default:
			r.unplaced(s.from, s.end, WhyWord)
			continue
		}
		near := r.u.Food.Alternatives
		if r.u.Food.ID != "" {
			near = append([]food.ID{r.u.Food.ID}, near...)
		}
		r.noData(ProblemUnlisted, asked, near)
		r.u.Food = FoodMatch{}
	}
}

// isName reports that item i is the name of a food of the catalogue.
func (r *reader) isName(i int) bool {
	for _, m := range r.at(i).means {
		if m.kind == kindFood || m.kind == kindVague {
			return true
		}
	}
	return false
}

// resolveDoneness takes the first doneness that the food has; one that it has not is said.
// A vague word narrows to the foods that have it ("beef, fork tender").
func (r *reader) resolveDoneness() {
	req := &r.u.Request
	for _, s := range r.donesses.all() {
		id, ok := r.fitting(s.from)
		switch {
		case !ok:
			r.unplaced(s.from, s.end, WhyDoneness)
		case req.Doneness == "":
			req.Doneness = id
		case req.Doneness != id:
			r.unplaced(s.from, s.end, WhySecond)
		}
	}
}

// fitting picks the doneness of item i that the food has. Without a food it is the first.
func (r *reader) fitting(i int) (food.Doneness, bool) {
	id := r.u.Food.ID
	if id == "" {
		id = r.base
	}
	for _, m := range r.items[i].means {
		if m.kind != kindDoneness && m.kind != kindFood {
			continue
		}
		d := food.Doneness(m.id)
		if id == "" || r.has(id, d) {
			return d, true
		}
		for k, other := range r.u.Food.Alternatives {
			if r.has(other, d) {
				rest := append([]food.ID{id}, r.u.Food.Alternatives[:k]...)
				r.u.Food.Alternatives = append(rest, r.u.Food.Alternatives[k+1:]...)
				r.u.Food.ID = other
				return d, true
			}
		}
	}
	f, _ := r.p.book.foods.Food(id)
	for _, m := range r.items[i].means {
		if m.kind == kindDoneness { // salmon ordered in the words of steak
			if d, ok := f.Alike(food.Doneness(m.id)); ok {
				return d, true
			}
		}
	}
	return "", false
}

func (r *reader) has(id food.ID, d food.Doneness) bool {
	f, ok := r.p.book.foods.Food(id)
	if !ok {
		return false
	}
	_, ok = f.Step(d)
	return ok
}
