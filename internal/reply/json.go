package reply

import (
	"math"
	"strings"
	"time"

	"bagwatch/internal/cook"
	"bagwatch/internal/heat"
)

// Answer is a plan or a refusal as JSON: snake_case, the unit in each name, null where a field does not
// apply. Times are minutes after the bag goes in, to 0.1 and unrounded otherwise; Text holds what a
// person is told, rounded to the safe side.
type Answer struct {
	Food          string      `json:"food"`
	Name          string      `json:"name"`
	Pieces        *int        `json:"pieces"`
	Mass          *float64    `json:"mass_g"`
	Thickness     *float64    `json:"thickness_mm"`
	ThicknessFrom *string     `json:"thickness_from"`
	Shape         *string     `json:"shape"`
	Start         *string     `json:"start"`
	StartC        *float64    `json:"start_c"`
	Doneness      *string     `json:"doneness"`
	Setpoint      *float64    `json:"setpoint_c"`
	SetpointFrom  *string     `json:"setpoint_from"`
	CoreReached   *float64    `json:"core_reached_min"`
	CoreCareful   *float64    `json:"core_careful_min"`
	Pasteurised   *float64    `json:"pasteurised_min"`
	Ready         *float64    `json:"ready_min"`
	LastCall      *float64    `json:"last_call_min"`
	BestBefore    *float64    `json:"best_before_min"`
	Lethality     []Lethality `json:"lethality"`
	Sear          *SearTimes  `json:"sear"`
	Cautions      []string    `json:"cautions"`
	Assumptions   []string    `json:"assumptions"`
	Lang          string      `json:"lang"`
	Text          string      `json:"text"`
	Refused       *string     `json:"refused,omitempty"`
	Error         *string     `json:"error,omitempty"`
	Suggestions   []string    `json:"suggestions,omitempty"`
}

// Lethality is one published rule applied to the careful core history.
type Lethality struct {
	Pathogen   string   `json:"pathogen"`
	TargetLog  float64  `json:"target_log"`
	ReachedMin *float64 `json:"reached_min"`
	LogAtReady float64  `json:"log_at_ready"`
	Rule       string   `json:"rule"`
}

// SearTimes are the seconds in the pan and the rest after it.
type SearTimes struct {
	PerSideMin float64 `json:"seconds_per_side_min"`
	PerSideMax float64 `json:"seconds_per_side_max"`
	RestMin    float64 `json:"rest_min"`
}

// PlanAnswer gives a plan as JSON data.
func (l *Language) PlanAnswer(p *cook.Plan, o Options) Answer {
	a := l.facts(p)
	a.Text = l.Plan(p, o).String()
	return a
}

// RefusalAnswer gives a refusal as JSON data: what was understood, the rule and the reason.
func (l *Language) RefusalAnswer(r cook.Request, refusal *cook.Refusal, o Options) Answer {
	a := Answer{Food: string(r.Food), Name: l.FoodName(r.Food, 1), Lang: l.Tag, Lethality: []Lethality{}, Cautions: []string{}, Assumptions: []string{}}
	if refusal.Plan != nil {
		a = l.facts(refusal.Plan)
	} else {
		a.requested(r)
	}
	rule := string(refusal.Rule)
	a.Refused, a.Text = &rule, l.Refusal(refusal, o).String()
	return a
}

// requested fills in what was asked when no plan was computed.
func (a *Answer) requested(r cook.Request) {
	if r.Pieces != 0 {
		a.Pieces = &r.Pieces
	}
	if r.Mass != 0 && !r.MassEach {
		a.Mass = tenth(r.Mass.Grams())
	}
	if r.Thickness != 0 {
		from := string(cook.ThicknessGiven)
		a.Thickness, a.ThicknessFrom = tenth(r.Thickness.Millimetres()), &from
	}
	if r.Doneness != "" {
		doneness := string(r.Doneness)
		a.Doneness = &doneness
	}
	if r.HasSetpoint {
		from := string(cook.SetpointGiven)
		a.Setpoint, a.SetpointFrom = tenth(float64(r.Setpoint)), &from
	}
	if r.Start != "" {
		start := string(r.Start)
		a.Start = &start
	}
}

func (l *Language) facts(p *cook.Plan) Answer {
	thicknessFrom, setpointFrom, start := string(p.ThicknessFrom), string(p.SetpointFrom), string(p.Start)
	shape := shapeName(p.Likely.Shape)
	a := Answer{
		Food: string(p.Food.ID), Name: l.FoodName(p.Food.ID, 1), Lang: l.Tag,
		Pieces: &p.Pieces, Thickness: tenth(p.Thickness.Millimetres()), ThicknessFrom: &thicknessFrom,
		Shape: &shape, Start: &start, StartC: tenth(float64(p.StartAt)),
		Setpoint: tenth(float64(p.Setpoint)), SetpointFrom: &setpointFrom,
		CoreReached: minutes(p.CoreReached), Ready: minutes(p.Ready), LastCall: minutes(p.LastCall), BestBefore: minutes(p.BestBefore),
		CoreCareful: moment(p.CoreCareful), Pasteurised: moment(p.Pasteurised),
		Lethality: []Lethality{}, Cautions: []string{}, Assumptions: []string{},
	}
	if p.Mass > 0 {
		a.Mass = tenth(p.Mass.Grams())
	}
	if p.Doneness != "" {
		doneness := string(p.Doneness)
		a.Doneness = &doneness
	}
	for _, k := range p.Kills {
		a.Lethality = append(a.Lethality, Lethality{
			Pathogen: string(k.Rule.Pair.Pathogen), TargetLog: k.Rule.Target, ReachedMin: moment(k.Reached),
			LogAtReady: math.Floor(k.LogAtReady*10) / 10, Rule: string(k.Rule.ID),
		})
	}
	if s := p.Sear; s != nil {
		a.Sear = &SearTimes{PerSideMin: s.PerSideMin.Seconds(), PerSideMax: s.PerSideMax.Seconds(), RestMin: s.Rest.Minutes()}
	}
	for _, n := range p.Cautions {
		a.Cautions = append(a.Cautions, string(n.ID))
	}
	for _, n := range p.Assumptions {
		a.Assumptions = append(a.Assumptions, string(n.ID))
	}
	return a
}

// shapeName names a shape as a cook would override it.
func shapeName(s heat.Shape) string {
	switch s.Kind {
	case heat.Cylinder, heat.FiniteCylinder:
		return string(cook.ShapeCylinder)
	case heat.Sphere:
		return string(cook.ShapeSphere)
	case heat.Brick:
		return string(cook.ShapeBlock)
	}
	return string(cook.ShapeSlab)
}

func tenth(x float64) *float64 {
	x = math.Round(x*10) / 10
	return &x
}

func minutes(d time.Duration) *float64 { return tenth(d.Minutes()) }

func moment(m cook.Moment) *float64 {
	if m.Never {
		return nil
	}
	return minutes(m.After)
}

// ErrorAnswer gives a message that was not understood as JSON data. The lines are the reason and what to
// type instead.
func (l *Language) ErrorAnswer(problem string, lines []string, suggestions []string) Answer {
	return Answer{
		Lang: l.Tag, Error: &problem, Text: strings.Join(lines, "\n"), Suggestions: suggestions,
		Lethality: []Lethality{}, Cautions: []string{}, Assumptions: []string{},
	}
}
