// Package cook is the shared model: it turns a [Request] into a [Plan], and a request with what [Happened] to
// it into a [Verdict].
//
// Everything a person is told about a piece of food comes from a Plan: chat, terminal,
// JSON, alerts and pictures print it and compute nothing. Times count from the moment the
// bag goes into the water. Two estimates run through the package and are never mixed: the
// likely one rules texture (core reached, ready, window), the careful one everything about
// safety (pasteurised, come-up, refusals). Start with [New] and [Model.Plan];
// a bath that was not steady is a [Diary], see [Model.Replan] and [Model.Verdict], and what is left over goes
// through [Model.Chill] and [Model.Reheat].
package cook

import (
	"errors"
	"fmt"
	"math"
	"time"

	"bagwatch/internal/food"
	"bagwatch/internal/heat"
	"bagwatch/internal/lethality"
	"bagwatch/internal/quantity"
	"bagwatch/internal/texture"
)

// Model plans from one catalogue. It is safe for concurrent use.
type Model struct{ foods *food.Catalogue }

// New makes a model of the catalogue's foods.
func New(foods *food.Catalogue) *Model { return &Model{foods: foods} }

// Foods is the catalogue the model plans from.
func (m *Model) Foods() *food.Catalogue { return m.foods }

// Horizon is the longest time the model looks ahead. The longest cooks of the trade take three days.
const Horizon = 5 * 24 * time.Hour

// Refusal is a request that was understood and that a rule forbids.
type Refusal struct {
	Rule RuleID
	Note Note // the rule's figures
	// Plan is what would be made of it but for the rule, when that much could be computed; nil otherwise.
	Plan *Plan
	// Nearest is the nearest request that passes, when one was found; NearestPlan is its plan.
	Nearest     *Request
	NearestPlan *Plan
}

// Error names the rule, for logs; people get the translated text.
func (r *Refusal) Error() string { return "cook: refused: " + string(r.Rule) }

func refuse(rule RuleID, n Note) *Refusal { return &Refusal{Rule: rule, Note: n} }

// errModel wraps what cannot happen with a request that passed the checks.
var errModel = errors.New("cook: model failed")

// Plan answers a request. The error is a *Refusal when a rule forbids it, with the nearest request
// that passes where there is one.
func (m *Model) Plan(r Request) (*Plan, error) {
	plan, err := m.plan(r)
	var refusal *Refusal
	if errors.As(err, &refusal) {
		m.nearest(r, refusal)
	}
	return plan, err
}

func (m *Model) plan(r Request) (*Plan, error) {
	pc, refusal := m.resolve(r)
	if refusal != nil {
		return nil, refusal
	}
	p := pc.plan(r)
	if err := m.choose(p); err != nil {
		return nil, err
	}
	if err := p.estimate(&pc, nil); err != nil {
		return nil, err
	}
	if err := p.kill(); err != nil {
		return nil, err
	}
	if err := p.window(); err != nil {
		return nil, err
	}
	if err := p.judge(); err != nil {
		err.Plan = p
		return nil, err
	}
	p.advise()
	return p, nil
}

// plan begins a plan of the piece.
func (p *piece) plan(r Request) *Plan {
	return &Plan{
		Request: r, Food: p.food, Pieces: p.pieces, Mass: p.mass,
		Thickness: p.thickness, ThicknessFrom: p.from, Guessed: p.guessed,
		Start: p.start, StartAt: p.startAt, Spent: p.spent, Safety: p.safety,
		Assumptions: p.notes,
	}
}

// choose decides setpoint and doneness.
func (m *Model) choose(p *Plan) error {
	r, f := p.Request, p.Food
	step, asked := f.Step(r.Doneness)
	switch {
	case r.HasSetpoint:
		p.Setpoint, p.SetpointFrom = r.Setpoint, SetpointGiven
		if !asked || f.Texture != food.TexturePlant && (p.Setpoint < step.Min || p.Setpoint > step.Max) {
			step, asked = f.DefaultStep(), true
			if p.Setpoint < step.Min || p.Setpoint > step.Max {
				step, asked = f.StepAt(p.Setpoint)
			}
		}
	case asked:
		p.Setpoint, p.SetpointFrom = step.Default, SetpointDoneness
	default:
		step, asked = f.DefaultStep(), true
		p.Setpoint, p.SetpointFrom = step.Default, SetpointDefault
		if r.AtRisk {
			step = atRiskStep(f, step)
			p.Setpoint = max(step.Default, atRiskFloor(f))
		}
		p.Assumptions = append(p.Assumptions, Note{ID: AssumeDoneness, Ref: string(step.ID), Temperature: p.Setpoint, Source: step.Source})
	}
	if asked {
		p.Doneness, p.softened = step.ID, step.Softened
	}
	if p.softened == 0 && f.Texture == food.TexturePlant {
		p.softened = f.DefaultStep().Softened
		if p.Setpoint < texture.TenderFrom {
			p.softened = firmSoftness
		}
	}
	if !p.Setpoint.Valid() || p.Setpoint >= heat.BoilingPoint(r.Altitude) {
		return refuse(RefuseBoiling, Note{Temperature: heat.BoilingPoint(r.Altitude)})
	}
	lowest := f.Steps[0].Min - belowTrade
	if f.Texture != food.TextureCustard { // sugared yolk has no pair below the trade's own range
		lowest = min(lowest, lethality.ClaimFloor(lethality.Class(p.Safety)))
	}
	if p.Setpoint < lowest {
		if p.Safety != food.Plant && !p.servedBefore() {
			return p.cannot()
		}
		return refuse(RefuseTooCool, Note{Temperature: f.Steps[0].Min, Ref: string(f.ID)})
	}
	if p.Setpoint <= p.StartAt {
		return refuse(RefuseStart, Note{Temperature: p.Setpoint})
	}
	return nil
}

// firmSoftness is the share of softening of a vegetable that keeps a bite.
const firmSoftness = 0.75

// belowTrade is how far below the coolest setpoint of the trade a request may go. House rule.
const belowTrade = 1

// atRiskStep is the first step from the wanted one up whose usual setpoint serves at-risk guests.
func atRiskStep(f food.Food, wanted food.Step) food.Step {
	for _, s := range f.Steps {
		if s.Max >= wanted.Max && s.Max >= atRiskFloor(f) {
			return s
		}
	}
	return wanted
}

// Careful bath, films and material. The films are those of a review's stirred bath with an imperfectly
// held bag (95 W/(m² K), Baldwin 2012, from memory) and of a well held one (150); a still pot is less,
// house rule. The careful diffusivity is the low end of measured meat and fish (Dickerson 1969: 1.18 to
// 1.47e-7 m²/s); at a given diffusivity the higher conductivity is the slower one, since it means more heat to
// bring in through the same film, and 0.48 W/(m K) is that of lean meat between the bounds of Choi & Okos.
const (
	likelyFilm       heat.Film        = 150
	carefulFilm      heat.Film        = 95
	likelyStillFilm  heat.Film        = 70
	carefulStillFilm heat.Film        = 40
	carefulAlpha     heat.Diffusivity = 1.20e-7
	alphaBand                         = 0.88 // the low end of the ±12 % in which published diffusivities lie

	carefulConductivity heat.Conductivity = 0.48

	widestMargin quantity.Difference  = 5   // a thermometer that is off by more is broken
	bathMargin   quantity.Difference  = 0.5 // the careful bath is this much cooler than the setpoint, or by a known larger error
	likelyClose  quantity.Temperature = 1   // the likely core has arrived within 1 K of the bath
	carefulClose quantity.Temperature = 0.5 // the careful one within 0.5 K of the careful bath
)

// A frozen block is followed by an equivalent radial body that may be up to 4 % early on its way (see package
// heat); times go with the size to the power 1.9, so a careful block 3 % bigger is late instead.
const (
	frozenGrowth                         = 1.03
	freezingHighest quantity.Temperature = -0.5 // no food of the ASHRAE table freezes above
)

// films are the likely and careful film of a bath for a food.
func films(kind BathKind, own heat.Film) (likely, careful heat.Film) {
	likely, careful = likelyFilm, carefulFilm
	if kind == BathStill {
		likely, careful = likelyStillFilm, carefulStillFilm
	}
	if own > 0 { // no bag between shell and water: the same share of the food's own film
		if kind == BathStill {
			return own * likelyStillFilm / likelyFilm, own * carefulStillFilm / carefulFilm
		}
		return own, own
	}
	return likely, careful
}

// estimate computes both core histories, in a steady bath or, with w, in one that has a history.
func (p *Plan) estimate(pc *piece, w *water) error {
	r := p.Request
	likely, careful := films(r.Bath, p.Food.Material.Film)
	thick := p.Thickness
	if p.Guessed {
		thick *= guess
	}
	careFor := pc.carefulShape(r, p.Thickness*pc.slack)
	if p.StartAt < freezingHighest && careFor.Kind == heat.Brick {
		careFor = heat.NewBrick(frozenGrowth*careFor.X, frozenGrowth*careFor.Y, frozenGrowth*careFor.Z)
	}
	p.Likely = Geometry{Shape: pc.likelyShape(r, p.Thickness), Film: likely, Bath: p.Setpoint}
	p.Careful = Geometry{Shape: careFor, Film: careful, Bath: p.Setpoint - r.margin()}
	material := p.Food.Material.Material
	slow := material
	slow.Diffusivity = min(carefulAlpha, alphaBand*slow.Diffusivity)
	slow.Conductivity = max(carefulConductivity, slow.Conductivity)
	p.slow, p.quick = slow, material

	var err error
	if p.LikelyCurve, err = w.likely(p.Likely, material, p.StartAt); err != nil {
		return err
	}
	if p.CarefulCurve, err = w.careful(p, slow, material); err != nil {
		return err
	}
	p.CoreCareful = reach(p.CarefulCurve, p.Careful.Bath-carefulClose)
	reached := reach(p.LikelyCurve, p.Setpoint-likelyClose)
	if reached.Never {
		return refuse(RefuseNeverReaches, Note{Span: Horizon})
	}
	p.CoreReached = reached.After
	p.ReadyLate = 0
	if p.Guessed {
		late, err := w.likely(Geometry{Shape: pc.likelyShape(r, thick), Film: likely, Bath: p.Setpoint}, material, p.StartAt)
		if err != nil {
			return err
		}
		if p.lateCore = reach(late, p.Setpoint-likelyClose); p.lateCore.Never {
			return refuse(RefuseNeverReaches, Note{Span: Horizon})
		}
		p.lateCurve = late
	}
	return nil
}

// steady is a series that knows its bath never changes, which lets integrals over it stride.
type steady struct {
	*heat.Series
	bath quantity.Temperature
}

// Steady says that the bath is constant from the start.
func (s steady) Steady() (time.Duration, quantity.Temperature) { return 0, s.bath }

// follow computes one history: the series for a thawed piece, finite volumes for a frozen one.
func follow(g Geometry, m heat.Material, start quantity.Temperature) (Curve, error) {
	piece := heat.Piece{Shape: g.Shape, Material: m, Start: start}
	if !piece.Frozen() {
		s, err := heat.NewSeries(piece, g.Bath, g.Film)
		if err != nil {
			return nil, fmt.Errorf("%w: %w", errModel, err)
		}
		return steady{&s, g.Bath}, nil
	}
	s, err := heat.Solve(piece, heat.Constant(g.Bath, g.Film), Horizon)
	if err != nil {
		return nil, fmt.Errorf("%w: %w", errModel, err)
	}
	return s, nil
}

// reach is the first time the core is at target.
func reach(c Curve, target quantity.Temperature) Moment {
	r, ok := c.(interface {
		Reach(quantity.Temperature) (time.Duration, bool)
	})
	if !ok {
		panic("cook: a curve without Reach")
	}
	at, ok := r.Reach(target)
	return Moment{After: at, Never: !ok || at > Horizon}
}

// margin is how much cooler than shown the water may be.
func (r Request) margin() quantity.Temperature {
	margin := min(widestMargin, max(bathMargin, r.ThermometerError))
	if math.IsNaN(float64(margin)) {
		margin = widestMargin
	}
	return quantity.Temperature(margin)
}

// claims reports whether a kill may be claimed at all.
func (p *Plan) claims(rule lethality.Rule) bool {
	set := max(p.Setpoint, p.raised)
	return rule.MayClaim(set) && !(set < p.Food.ClaimFrom) && !p.Request.Cured
}

// kill applies every published rule to the careful history.
func (p *Plan) kill() error {
	var store [3]lethality.Rule
	var found [3]lethality.Result
	rules := lethality.AppendRules(store[:0], lethality.Class(p.Safety), p.Food.FatPercent)
	results := lethality.Scan(found[:0], p.CarefulCurve, Horizon, rules)
	p.Kills = make([]Kill, len(rules))
	for i, rule := range rules {
		k := Kill{Rule: rule, Reached: Moment{After: results[i].At, Never: !results[i].Reached}}
		if !p.claims(rule) {
			k.Reached = Moment{Never: true}
		}
		p.Kills[i] = k
		p.Pasteurised.Never = p.Pasteurised.Never || k.Reached.Never
		p.Pasteurised.After = max(p.Pasteurised.After, k.Reached.After)
	}
	if p.Pasteurised.Never {
		p.Pasteurised.After = 0
	}
	return nil
}
