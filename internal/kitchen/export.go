package kitchen

import (
	"encoding/json"
	"fmt"
	"time"

	"bagwatch/internal/cook"
)

// The exported form is for people: words and units in full, times in UTC (RFC 3339), nothing left out
// because it is not set. fields.go says which stored field is found where.
type (
	exportDocument struct {
		Settings exportSettings  `json:"settings"`
		Recents  []exportRecent  `json:"last_requests"`
		Bags     []exportBag     `json:"bags"`
		Diary    []exportEntry   `json:"bath_diary"`
		Kept     []exportKept    `json:"kept_food"`
		Steps    []exportStep    `json:"dinner_steps"`
		Dinner   exportDinner    `json:"dinner"`
		Log      []exportCook    `json:"past_cooks"`
		Groups   []ChatID        `json:"groups"`
		Counts   []exportCount   `json:"counters"`
		Keys     []exportKey     `json:"messages_carried_out"`
		Card     exportCard      `json:"card"`
		Chat     exportChatState `json:"chat_state"`
	}
	exportSettings struct {
		Kind             string    `json:"kind"`
		Title            string    `json:"title"`
		Language         string    `json:"language"`
		Units            string    `json:"units"`
		AtRisk           bool      `json:"at_risk_by_default"`
		Country          string    `json:"country"`
		Litres           float64   `json:"bath_litres"`
		Watts            float64   `json:"bath_watts"`
		ThermometerError float64   `json:"thermometer_error_kelvin"`
		StillPot         bool      `json:"still_pot"`
		Altitude         float64   `json:"altitude_metres"`
		Zone             string    `json:"time_zone"`
		Quiet            [2]string `json:"quiet_hours"`
	}
	exportWho struct {
		ID   PersonID `json:"id"`
		Name string   `json:"name"`
	}
	exportRequest struct {
		Food             string  `json:"food"`
		Pieces           int     `json:"pieces"`
		Mass             float64 `json:"mass_grams"`
		MassEach         bool    `json:"mass_of_each"`
		Thickness        float64 `json:"thickness_mm"`
		ThicknessVague   bool    `json:"thickness_guessed"`
		Shape            string  `json:"shape"`
		Start            string  `json:"start"`
		StartAt          float64 `json:"start_celsius"`
		Doneness         string  `json:"doneness"`
		Setpoint         float64 `json:"setpoint_celsius"`
		HasSetpoint      bool    `json:"setpoint_given"`
		Pasteurised      bool    `json:"asked_pasteurised"`
		AtRisk           bool    `json:"at_risk"`
		NonIntact        bool    `json:"not_intact"`
		Cured            bool    `json:"cured"`
		Span             float64 `json:"meant_minutes"`
		Country          string  `json:"country"`
		Bath             string  `json:"bath"`
		Altitude         float64 `json:"altitude_metres"`
		ThermometerError float64 `json:"thermometer_error_kelvin"`
	}
	exportRecent struct {
		Person  PersonID      `json:"person"`
		At      *time.Time    `json:"at"`
		Request exportRequest `json:"request"`
	}
	exportBag struct {
		ID          BagID         `json:"id"`
		Request     exportRequest `json:"request"`
		Name        string        `json:"name"`
		Starter     exportWho     `json:"started_by"`
		Started     *time.Time    `json:"started"`
		Early       *time.Time    `json:"ready_earliest"`
		Ready       *time.Time    `json:"ready"`
		LastCall    *time.Time    `json:"last_call"`
		BestBefore  *time.Time    `json:"best_before"`
		Limit       *time.Time    `json:"limit"`
		Pasteurised *time.Time    `json:"pasteurised"`
		Serve       string        `json:"serve"`
		Closed      *time.Time    `json:"taken_out"`
		ClosedBy    exportWho     `json:"taken_out_by"`
		Thrown      bool          `json:"dropped"`
		Trouble     string        `json:"refused_by_rule"`
		Unsafe      *time.Time    `json:"doubtful_from"`
		Told        string        `json:"told"`
		ToldTrouble bool          `json:"told_doubtful"`
	}
	exportEntry struct {
		Kind        string     `json:"kind"`
		At          *time.Time `json:"at"`
		Until       *time.Time `json:"until"`
		Temperature float64    `json:"celsius"`
		Count       int        `json:"count"`
		Litres      float64    `json:"litres"`
		Bag         BagID      `json:"bag"`
		By          exportWho  `json:"written_by"`
	}
	exportKept struct {
		ID     KeptID     `json:"id"`
		Bag    BagID      `json:"bag"`
		Food   string     `json:"food"`
		Name   string     `json:"name"`
		Pieces int        `json:"pieces"`
		Since  *time.Time `json:"since"`
		Until  *time.Time `json:"keep_until"`
		Frozen bool       `json:"frozen"`
		By     exportWho  `json:"put_away_by"`
		Told   uint8      `json:"reminders_given"`
	}
	exportStep struct {
		At   *time.Time `json:"at"`
		What string     `json:"what"`
		Ref  string     `json:"about"`
		By   exportWho  `json:"taken_by"`
		Told bool       `json:"told"`
	}
	exportDinner struct {
		Made   *time.Time      `json:"planned"`
		Serve  *time.Time      `json:"serve"`
		Going  *time.Time      `json:"going_since"`
		By     exportWho       `json:"planned_by"`
		Card   exportCard      `json:"card"`
		Dishes []exportRequest `json:"dishes"`
		Baths  int             `json:"baths"`
		Litres float64         `json:"bath_litres"`
		Watts  float64         `json:"bath_watts"`
		NoIce  bool            `json:"no_ice"`
		Shifts []exportShift   `json:"shifts"`
		Marks  []exportMark    `json:"marks"`
	}
	exportShift struct {
		At     *time.Time `json:"at"`
		Late   float64    `json:"cook_late_minutes"`
		Guests float64    `json:"guests_late_minutes"`
		Serve  *time.Time `json:"serve"`
	}
	exportMark struct {
		What string     `json:"what"`
		By   exportWho  `json:"taken_by"`
		Done *time.Time `json:"done"`
	}
	exportCook struct {
		Bag       BagID      `json:"bag"`
		Food      string     `json:"food"`
		Name      string     `json:"name"`
		Setpoint  float64    `json:"setpoint_celsius"`
		Thickness float64    `json:"thickness_mm"`
		Doneness  string     `json:"doneness"`
		Started   *time.Time `json:"started"`
		Pulled    *time.Time `json:"pulled"`
		Starter   PersonID   `json:"started_by"`
		Rating    uint8      `json:"rating"`
		Note      string     `json:"note"`
		By        PersonID   `json:"rated_by"`
	}
	exportCount struct {
		Person PersonID   `json:"person"`
		What   uint8      `json:"what"`
		Since  *time.Time `json:"since"`
		N      int        `json:"count"`
	}
	exportKey struct {
		Digest string     `json:"digest"`
		At     *time.Time `json:"at"`
	}
	exportCard struct {
		Message MessageID `json:"message"`
		Topic   int64     `json:"topic"`
	}
	exportChatState struct {
		LastBag    BagID      `json:"last_bag_id"`
		LastKept   KeptID     `json:"last_kept_id"`
		ToppedUp   *time.Time `json:"water_topped_up"`
		Held       *time.Time `json:"news_held_until"`
		Parked     *time.Time `json:"unreachable_since"`
		Forgetting *time.Time `json:"forgetting_since"`
		MovedTo    ChatID     `json:"moved_to"`
		MergedFrom ChatID     `json:"merged_from"`
		Retry      *time.Time `json:"retry_at"`
	}
)

// Export gives all that is kept for a chat as indented JSON that people can read.
func Export(d Document) ([]byte, error) {
	out := exportDocument{
		Settings: exportSettings{
			Kind: pick(d.Settings.Kind, "private", "kitchen"), Title: d.Settings.Title, Language: d.Settings.Language,
			Units:  pick(d.Settings.Units, "not chosen", "metric", "imperial"),
			AtRisk: d.Settings.AtRisk, Country: d.Settings.Country, Litres: float64(d.Settings.Litres),
			Watts: float64(d.Settings.Watts), ThermometerError: float64(d.Settings.ThermometerError),
			StillPot: d.Settings.StillPot, Altitude: float64(d.Settings.Altitude), Zone: d.Settings.Zone,
			Quiet: [2]string{d.Settings.Quiet.From.String(), d.Settings.Quiet.To.String()},
		},
		Recents: each(d.Recents, func(r Recent) exportRecent {
			return exportRecent{Person: r.Person, At: when(r.At), Request: exportedRequest(r.Request)}
		}),
		Bags: each(d.Bags, exportedBag),
		Diary: each(d.Diary, func(e Entry) exportEntry {
			return exportEntry{
				Kind: pick(e.Kind, "bath at", "power out", "lid off", "cold bags", "water added", "core at"),
				At:   when(e.At), Until: when(e.Until), Temperature: float64(e.Temperature), Count: e.Count,
				Litres: float64(e.Litres), Bag: e.Bag, By: exportWho(e.By),
			}
		}),
		Kept: each(d.Kept, func(k Kept) exportKept {
			return exportKept{
				ID: k.ID, Bag: k.Bag, Food: string(k.Food), Name: k.Name, Pieces: k.Pieces, Since: when(k.Since),
				Until: when(k.Until), Frozen: k.Frozen, By: exportWho(k.By), Told: k.Told,
			}
		}),
		Steps: each(d.Steps, func(s Step) exportStep {
			return exportStep{At: when(s.At), What: s.What, Ref: s.Ref, By: exportWho(s.By), Told: s.Told}
		}),
		Dinner: exportedDinner(d.Dinner),
		Log: each(d.Log, func(c Cook) exportCook {
			return exportCook{
				Bag: c.Bag, Food: string(c.Food), Name: c.Name, Setpoint: float64(c.Setpoint),
				Thickness: c.Thickness.Millimetres(), Doneness: string(c.Doneness), Started: when(c.Started),
				Pulled: when(c.Pulled), Starter: c.Starter, Rating: c.Rating, Note: c.Note, By: c.By,
			}
		}),
		Groups: each(d.Groups, func(g ChatID) ChatID { return g }),
		Counts: each(d.Counts, func(c Count) exportCount {
			return exportCount{Person: c.Person, What: c.What, Since: when(c.Since), N: c.N}
		}),
		Keys: each(d.Keys, func(k Key) exportKey {
			return exportKey{Digest: fmt.Sprintf("%x", k.Digest), At: when(k.At)}
		}),
		Card: exportCard(d.Card),
		Chat: exportChatState{
			LastBag: d.LastBag, LastKept: d.LastKept, ToppedUp: when(d.ToppedUp), Held: when(d.Held),
			Parked: when(d.Parked), Forgetting: when(d.Forgetting), MovedTo: d.MovedTo, MergedFrom: d.MergedFrom,
			Retry: when(d.Retry),
		},
	}
	b, err := json.MarshalIndent(out, "", "  ")
	if err != nil {
		return nil, fmt.Errorf("export document: %w", err)
	}
	return b, nil
}

func exportedBag(b Bag) exportBag {
	return exportBag{
		ID: b.ID, Request: exportedRequest(b.Request), Name: b.Name, Starter: exportWho(b.Starter),
		Started: when(b.Started), Early: when(b.Times.Early), Ready: when(b.Times.Ready),
		LastCall: when(b.Times.LastCall), BestBefore: when(b.Times.BestBefore), Limit: when(b.Times.Limit),
		Pasteurised: when(b.Times.Pasteurised), Serve: string(b.Times.Serve), Closed: when(b.Closed),
		ClosedBy: exportWho(b.ClosedBy), Thrown: b.Thrown, Trouble: string(b.Trouble), Unsafe: when(b.Unsafe),
		Told: b.Told.String(), ToldTrouble: b.ToldTrouble,
	}
}

func exportedDinner(n Dinner) exportDinner {
	return exportDinner{
		Made: when(n.Made), Serve: when(n.Serve), Going: when(n.Going), By: exportWho(n.By), Card: exportCard(n.Card),
		Dishes: each(n.Dishes, exportedRequest), Baths: n.Baths, Litres: float64(n.Litres), Watts: float64(n.Watts), NoIce: n.NoIce,
		Shifts: each(n.Shifts, func(s Shift) exportShift {
			return exportShift{At: when(s.At), Late: s.Late.Minutes(), Guests: s.Guests.Minutes(), Serve: when(s.Serve)}
		}),
		Marks: each(n.Marks, func(m Mark) exportMark { return exportMark{What: m.What, By: exportWho(m.By), Done: when(m.Done)} }),
	}
}

func exportedRequest(r cook.Request) exportRequest {
	return exportRequest{
		Food: string(r.Food), Pieces: r.Pieces, Mass: r.Mass.Grams(), MassEach: r.MassEach,
		Thickness: r.Thickness.Millimetres(), ThicknessVague: r.ThicknessVague, Shape: string(r.Shape),
		Start: string(r.Start), StartAt: float64(r.StartAt), Doneness: string(r.Doneness),
		Setpoint: float64(r.Setpoint), HasSetpoint: r.HasSetpoint, Pasteurised: r.Pasteurised, AtRisk: r.AtRisk,
		NonIntact: r.NonIntact, Cured: r.Cured, Span: r.Span.Minutes(), Country: r.Country, Bath: string(r.Bath),
		Altitude: float64(r.Altitude), ThermometerError: float64(r.ThermometerError),
	}
}

// String is the state in our own words, for logs and exports.
func (s State) String() string {
	return pick(s, "warming", "ready", "last call", "past", "doubtful", "pulled", "dropped")
}

// String is hours and minutes, such as 07:30.
func (t TimeOfDay) String() string { return fmt.Sprintf("%02d:%02d", int(t)/60, int(t)%60) }

// pick is the word for a number.
func pick[T ~uint8](n T, words ...string) string {
	if int(n) < len(words) {
		return words[n]
	}
	return fmt.Sprint(uint8(n))
}

// each is never nil, so that an empty list is exported as one.
func each[From, To any](from []From, one func(From) To) []To {
	to := make([]To, len(from))
	for i, f := range from {
		to[i] = one(f)
	}
	return to
}

// when is null for no time.
func when(t time.Time) *time.Time {
	if t.IsZero() {
		return nil
	}
	return &t
}
