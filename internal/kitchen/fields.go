package kitchen

// Forgetting says what becomes of a stored field when a person is forgotten.
type Forgetting uint8

// What becomes of a field.
const (
	// Stays: it names nobody, and the chat needs it until it expires. It goes when the whole chat is forgotten.
	Stays Forgetting = iota
	// Someone: the person's number and name are wiped, and the entry stays as somebody's.
	Someone
	// Wiped: what the person wrote in their own words is emptied, and the entry stays.
	Wiped
	// Removed: the entry goes with the person.
	Removed
	// Lasts: stays even when the whole chat is forgotten; it names nobody. See [Document.ForgetAll].
	Lasts
)

// Field is one stored field with where it stands in the export and how it is forgotten.
type Field struct {
	Name   string // type and field
	Export string // where it is in the export; list elements are not counted
	Forget Forgetting
}

// Fields lists every stored field. A test fails when one is missing here, or does not do as it says.
func Fields() []Field {
	return []Field{
		{"Document.Settings", "settings", Stays},
		{"Document.Recents", "last_requests", Removed},
		{"Document.Bags", "bags", Stays},
		{"Document.LastBag", "chat_state.last_bag_id", Lasts},
		{"Document.Diary", "bath_diary", Stays},
		{"Document.Kept", "kept_food", Stays},
		{"Document.LastKept", "chat_state.last_kept_id", Lasts},
		{"Document.Steps", "dinner_steps", Stays},
		{"Document.Dinner", "dinner", Stays},
		{"Document.Card", "card", Stays},
		{"Document.Keys", "messages_carried_out", Lasts},
		{"Document.Groups", "groups", Stays},
		{"Document.Log", "past_cooks", Stays},
		{"Document.Counts", "counters", Removed},
		{"Document.ToppedUp", "chat_state.water_topped_up", Stays},
		{"Document.Held", "chat_state.news_held_until", Stays},
		{"Document.Parked", "chat_state.unreachable_since", Lasts},
		{"Document.Forgetting", "chat_state.forgetting_since", Stays},
		{"Document.MovedTo", "chat_state.moved_to", Stays},
		{"Document.MergedFrom", "chat_state.merged_from", Stays},
		{"Document.Retry", "chat_state.retry_at", Stays},

		{"Settings.Kind", "settings.kind", Lasts},
		{"Settings.Title", "settings.title", Stays},
		{"Settings.Language", "settings.language", Stays},
		{"Settings.Units", "settings.units", Stays},
		{"Settings.AtRisk", "settings.at_risk_by_default", Stays},
		{"Settings.Country", "settings.country", Stays},
		{"Settings.Litres", "settings.bath_litres", Stays},
		{"Settings.Watts", "settings.bath_watts", Stays},
		{"Settings.ThermometerError", "settings.thermometer_error_kelvin", Stays},
		{"Settings.StillPot", "settings.still_pot", Stays},
		{"Settings.Altitude", "settings.altitude_metres", Stays},
		{"Settings.Zone", "settings.time_zone", Stays},
		{"Settings.Quiet", "settings.quiet_hours", Stays},
		{"Quiet.From", "settings.quiet_hours", Stays},
		{"Quiet.To", "settings.quiet_hours", Stays},

		{"Recent.Person", "last_requests.person", Removed},
		{"Recent.At", "last_requests.at", Removed},
		{"Recent.Request", "last_requests.request", Removed},

		{"Bag.ID", "bags.id", Stays},
		{"Bag.Request", "bags.request", Stays},
		{"Bag.Name", "bags.name", Wiped},
		{"Bag.Starter", "bags.started_by", Someone},
		{"Bag.Started", "bags.started", Stays},
		{"Bag.Times", "bags.ready", Stays},
		{"Bag.Closed", "bags.taken_out", Stays},
		{"Bag.ClosedBy", "bags.taken_out_by", Someone},
		{"Bag.Thrown", "bags.dropped", Stays},
		{"Bag.Trouble", "bags.refused_by_rule", Stays},
		{"Bag.Unsafe", "bags.doubtful_from", Stays},
		{"Bag.Told", "bags.told", Stays},
		{"Bag.ToldTrouble", "bags.told_doubtful", Stays},
		{"Times.Early", "bags.ready_earliest", Stays},
		{"Times.Ready", "bags.ready", Stays},
		{"Times.LastCall", "bags.last_call", Stays},
		{"Times.BestBefore", "bags.best_before", Stays},
		{"Times.Limit", "bags.limit", Stays},
		{"Times.Pasteurised", "bags.pasteurised", Stays},
		{"Times.Serve", "bags.serve", Stays},
		{"Who.ID", "bags.started_by.id", Someone},
		{"Who.Name", "bags.started_by.name", Someone},

		{"Request.Food", "bags.request.food", Stays},
		{"Request.Pieces", "bags.request.pieces", Stays},
		{"Request.Mass", "bags.request.mass_grams", Stays},
		{"Request.MassEach", "bags.request.mass_of_each", Stays},
		{"Request.Thickness", "bags.request.thickness_mm", Stays},
		{"Request.ThicknessVague", "bags.request.thickness_guessed", Stays},
		{"Request.Shape", "bags.request.shape", Stays},
		{"Request.Start", "bags.request.start", Stays},
		{"Request.StartAt", "bags.request.start_celsius", Stays},
		{"Request.Doneness", "bags.request.doneness", Stays},
		{"Request.Setpoint", "bags.request.setpoint_celsius", Stays},
		{"Request.HasSetpoint", "bags.request.setpoint_given", Stays},
		{"Request.Pasteurised", "bags.request.asked_pasteurised", Stays},
		{"Request.AtRisk", "bags.request.at_risk", Stays},
		{"Request.NonIntact", "bags.request.not_intact", Stays},
		{"Request.Cured", "bags.request.cured", Stays},
		{"Request.Span", "bags.request.meant_minutes", Stays},
		{"Request.Country", "bags.request.country", Stays},
		{"Request.Bath", "bags.request.bath", Stays},
		{"Request.Altitude", "bags.request.altitude_metres", Stays},
		{"Request.ThermometerError", "bags.request.thermometer_error_kelvin", Stays},

		{"Entry.Kind", "bath_diary.kind", Stays},
		{"Entry.At", "bath_diary.at", Stays},
		{"Entry.Until", "bath_diary.until", Stays},
		{"Entry.Temperature", "bath_diary.celsius", Stays},
		{"Entry.Count", "bath_diary.count", Stays},
		{"Entry.Litres", "bath_diary.litres", Stays},
		{"Entry.Bag", "bath_diary.bag", Stays},
		{"Entry.By", "bath_diary.written_by", Someone},

		{"Kept.ID", "kept_food.id", Stays},
		{"Kept.Bag", "kept_food.bag", Stays},
		{"Kept.Food", "kept_food.food", Stays},
		{"Kept.Name", "kept_food.name", Wiped},
		{"Kept.Pieces", "kept_food.pieces", Stays},
		{"Kept.Since", "kept_food.since", Stays},
		{"Kept.Until", "kept_food.keep_until", Stays},
		{"Kept.Frozen", "kept_food.frozen", Stays},
		{"Kept.By", "kept_food.put_away_by", Someone},
		{"Kept.Told", "kept_food.reminders_given", Stays},

		{"Step.At", "dinner_steps.at", Stays},
		{"Step.What", "dinner_steps.what", Stays},
		{"Step.Ref", "dinner_steps.about", Stays},
		{"Step.By", "dinner_steps.taken_by", Someone},
		{"Step.Told", "dinner_steps.told", Stays},

		{"Dinner.Made", "dinner.planned", Stays},
		{"Dinner.Serve", "dinner.serve", Stays},
		{"Dinner.Going", "dinner.going_since", Stays},
		{"Dinner.By", "dinner.planned_by", Someone},
		{"Dinner.Card", "dinner.card", Stays},
		{"Dinner.Dishes", "dinner.dishes", Stays},
		{"Dinner.Baths", "dinner.baths", Stays},
		{"Dinner.Litres", "dinner.bath_litres", Stays},
		{"Dinner.Watts", "dinner.bath_watts", Stays},
		{"Dinner.NoIce", "dinner.no_ice", Stays},
		{"Dinner.Shifts", "dinner.shifts", Stays},
		{"Dinner.Marks", "dinner.marks", Stays},
		{"Shift.At", "dinner.shifts.at", Stays},
		{"Shift.Late", "dinner.shifts.cook_late_minutes", Stays},
		{"Shift.Guests", "dinner.shifts.guests_late_minutes", Stays},
		{"Shift.Serve", "dinner.shifts.serve", Stays},
		{"Mark.What", "dinner.marks.what", Stays},
		{"Mark.By", "dinner.marks.taken_by", Someone},
		{"Mark.Done", "dinner.marks.done", Stays},

		{"Card.Message", "card.message", Stays},
		{"Card.Topic", "card.topic", Stays},

		{"Key.Digest", "messages_carried_out.digest", Lasts},
		{"Key.At", "messages_carried_out.at", Lasts},

		{"Cook.Bag", "past_cooks.bag", Stays},
		{"Cook.Food", "past_cooks.food", Stays},
		{"Cook.Name", "past_cooks.name", Wiped},
		{"Cook.Setpoint", "past_cooks.setpoint_celsius", Stays},
		{"Cook.Thickness", "past_cooks.thickness_mm", Stays},
		{"Cook.Doneness", "past_cooks.doneness", Stays},
		{"Cook.Started", "past_cooks.started", Stays},
		{"Cook.Pulled", "past_cooks.pulled", Stays},
		{"Cook.Starter", "past_cooks.started_by", Someone},
		{"Cook.Rating", "past_cooks.rating", Wiped},
		{"Cook.Note", "past_cooks.note", Wiped},
		{"Cook.By", "past_cooks.rated_by", Someone},

		{"Count.Person", "counters.person", Removed},
		{"Count.What", "counters.what", Removed},
		{"Count.Since", "counters.since", Removed},
		{"Count.N", "counters.count", Removed},
	}
}
