package texture

import (
	"fmt"
	"math"
	"time"

	"bagwatch/internal/quantity"
)

// Yolk is a texture of egg yolk, named after what it flows like.
type Yolk string

// The yolk textures in order.
const (
	YolkLiquid     Yolk = "liquid"
	YolkCondensed  Yolk = "condensed-milk"
	YolkMayonnaise Yolk = "mayonnaise"
	YolkHoney      Yolk = "honey"
	YolkIcing      Yolk = "icing"
	YolkPaste      Yolk = "paste"
)

// White is a state of egg white.
type White string

// The states of the white in order.
const (
	WhiteLoose   White = "loose"   // milky: only ovotransferrin has set
	WhiteSoft    White = "soft"    // X from 0.1
	WhiteTrembly White = "trembly" // X from 0.6
	WhiteSet     White = "set"     // X above 0.9
)

// Yolk doses in minutes at 63 °C since immersion at which each texture begins. Source: Vega
// & Mercadé-Prieto 2011, Food Biophysics 6:152, anchors 40, 60, 75, 110 and 155 min at 63 °C
// as read from figure 8 in a reproduction; taken as times in the shell and so lessened by
// the 33 min the yolk of a 60 g egg loses to warming up. Uncertainty ±15 min.
const (
	doseCondensed  = 7.0
	doseMayonnaise = 27.0
	doseHoney      = 42.0
	doseIcing      = 77.0
	dosePaste      = 122.0
)

// doseCustard is where a custard yolk is called ready: short of mayonnaise. Common
// practice, no source. It is past its best as icing and at its limit as paste.
const doseCustard = 20.0

// setFrom is the coolest water in which eggs are cooked for their white: below it the
// yolk sets first and rules.
const setFrom quantity.Temperature = 70

// whiteSet is the share of white set that counts as firm, at 0.836 of the radius, half way
// from the yolk to the shell of a 60 g egg. House rule.
const whiteSet = 0.9

// Minutes of the window of set eggs and custard after ready: common practice, no source.
const (
	setBest  = 30.0
	setLimit = 60.0
)

// thickening is the yolk's rate in units of 63 °C (336.15 K). Source: Vega & Mercadé-Prieto
// 2011, Ea 470 kJ/mol; yolk shows structure from 56 °C on.
func thickening(t float64) float64 { return arrhenius(t, 470, 336.15) }

// setting is the first-order rate of egg white per minute. Source: Di Lorenzo et al. 2025,
// Communications Engineering, from an open re-implementation: A 4.85e60 1/s, Ea 418.5
// kJ/mol. With the gas constant to four digits it is 0.9 % slower than with all, the later side.
func setting(t float64) float64 {
	return 60 * 4.85e60 * math.Exp(-418.5/gas/quantity.Temperature(t).Kelvin())
}

// egg: below 70 °C by the yolk at Curve, from there on by the white at White.
func egg(in Input) (Window, error) {
	if in.Curve == nil {
		return Window{}, fmt.Errorf("%w: egg without a curve", ErrInput)
	}
	if in.Setpoint >= setFrom {
		return setEgg(in)
	}
	goals, at := [3]float64{doseCustard, doseIcing, dosePaste}, [3]float64{}
	if _, met := follow(in.Curve, thickening, Horizon.Minutes(), goals[:], at[:]); met < len(goals) {
		return Window{}, fmt.Errorf("%w: egg at %.1f °C", ErrNever, float64(in.Setpoint))
	}
	return late(in, Window{Ready: quantity.Minutes(at[0]), BestBefore: quantity.Minutes(at[1]),
		Limit: quantity.Minutes(at[2]), Basis: YolkBasis}), nil
}

func setEgg(in Input) (Window, error) {
	white := in.White
	if white == nil {
		white = in.Curve
	}
	goals, at := [1]float64{-math.Log(1 - whiteSet)}, [1]float64{}
	if _, met := follow(white, setting, Horizon.Minutes(), goals[:], at[:]); met == 0 {
		return Window{}, fmt.Errorf("%w: egg at %.1f °C", ErrNever, float64(in.Setpoint))
	}
	ready := quantity.Minutes(at[0])
	if in.HasPasteurised {
		ready = max(ready, in.Pasteurised)
	}
	return Window{Ready: ready, BestBefore: after(ready, setBest), Limit: after(ready, setLimit), Basis: SetEggBasis}, nil
}

// Egg is a sphere whose mean and surface temperatures are known.
type Egg interface {
	Mean(t time.Duration) quantity.Temperature
	Surface(t time.Duration) quantity.Temperature
}

// whiteShare places the white half way out between surface (0) and mean (1): in the first
// mode of a sphere of Bi = 13.6 (47.3 mm, film 300 W/(m² K), k 0.52 W/(m K)) the
// amplitudes at 0.836 R, R and the mean are 0.264, 0.075 and 0.370. Eggs of 50 and 70 g
// differ by less than 0.01.
const whiteShare = 0.64

// WhiteOf is the curve of the white half way out, where firmness is judged. Later
// modes have died out by the time white sets.
func WhiteOf(e Egg) Curve { return white{e} }

type white struct{ egg Egg }

func (w white) Core(t time.Duration) quantity.Temperature {
	return w.egg.Surface(t) + whiteShare*(w.egg.Mean(t)-w.egg.Surface(t))
}

// EggState is what an egg is like at one moment.
type EggState struct {
	Dose     time.Duration // what the yolk has had, as time at 63 °C
	Yolk     Yolk
	WhiteSet float64 // share of the white set, 0 to 1
	White    White
}

// StateOf follows the yolk (the core) and the white (half way out) of an egg from immersion
// to t, at most [Horizon].
func StateOf(yolk, white Curve, t time.Duration) EggState {
	end := min(t, Horizon).Minutes()
	dose, _ := follow(yolk, thickening, end, nil, nil)
	set, _ := follow(white, setting, end, nil, nil)
	s := EggState{Dose: quantity.Minutes(dose), WhiteSet: 1 - math.Exp(-set)}
	switch {
	case dose >= dosePaste:
		s.Yolk = YolkPaste
	case dose >= doseIcing:
		s.Yolk = YolkIcing
	case dose >= doseHoney:
		s.Yolk = YolkHoney
	case dose >= doseMayonnaise:
		s.Yolk = YolkMayonnaise
	case dose >= doseCondensed:
		s.Yolk = YolkCondensed
	default:
		s.Yolk = YolkLiquid
	}
	switch {
	case s.WhiteSet > whiteSet:
		s.White = WhiteSet
	case s.WhiteSet >= 0.6:
		s.White = WhiteTrembly
	case s.WhiteSet >= 0.1:
		s.White = WhiteSoft
	default:
		s.White = WhiteLoose
	}
	return s
}
