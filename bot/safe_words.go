package bot

import (
	"context"
	"strings"
	"time"
	"unicode"

	"bagwatch/internal/cook"
	"bagwatch/internal/kitchen"
	"bagwatch/internal/phrase"
	"bagwatch/internal/reply"
)

// safeWords answers words that ask whether something is safe, or that add to such a question. It reports
// false for everything else.
func (t *turn) safeWords(ctx context.Context, text string, u phrase.Understood) (done bool, err error) {
	if u.Intent == phrase.IntentSafe || u.Intent == "" && t.asksSafe(text, u) {
		return true, t.safeTyped(ctx, text, u)
	}
	if u.Food.ID != "" || u.Intent != "" {
		return false, nil
	}
	if q, ok := t.lastQuestion(); ok {
		return t.safeFollows(ctx, text, u, q)
	}
	// "she is pregnant", with something in the bath: is that safe for her?
	if bags := t.entry.doc.Running(); len(bags) > 0 && u.Request == (cook.Request{AtRisk: true}) {
		last, asked := t.entry.base(t.in)
		if asked && !bagOf(bags, last) {
			return false, nil // it changes what was asked last
		}
		return true, t.safeBags(ctx, bags, true)
	}
	return false, nil
}

// bagOf tells whether a request is one of the bags'.
func bagOf(bags []kitchen.Bag, r cook.Request) bool {
	for _, b := range bags {
		if b.Request.Food == r.Food {
			return true
		}
	}
	return false
}

// asksSafe tells whether a message with a food asks if it may be eaten: "is my salmon ok, 2 h at 52".
func (t *turn) asksSafe(text string, u phrase.Understood) bool {
	if u.Food.ID == "" {
		return false
	}
	s := spaced(text)
	if !contains(s, t.lang.Words(reply.TypedOkay)) {
		return false
	}
	if u.Question {
		return true
	}
	for _, w := range t.lang.Words(reply.TypedAsks) {
		if strings.HasPrefix(s, " "+w+" ") {
			return true
		}
	}
	return false
}

// spaced is a text in lower case, its words between single blanks, so that " word " finds whole words.
func spaced(text string) string {
	return " " + strings.Join(strings.FieldsFunc(strings.ToLower(strings.ReplaceAll(text, "’", "'")), func(r rune) bool {
		return !unicode.IsLetter(r) && !unicode.IsDigit(r) && r != '\''
	}), " ") + " "
}

// contains tells whether one of the words stands in a spaced text.
func contains(s string, words []string) bool {
	for _, w := range words {
		if strings.Contains(s, " "+w+" ") {
			return true
		}
	}
	return false
}

// safeTyped answers a question as it was typed.
func (t *turn) safeTyped(ctx context.Context, text string, u phrase.Understood) error {
	timed := u.Since != nil || u.Ago > 0 || u.Request.Span > 0
	if u.Food.ID == "" {
		if q, ok := t.lastQuestion(); ok && (timed || u.Request != (cook.Request{AtRisk: u.Request.AtRisk})) {
			if done, err := t.safeFollows(ctx, text, u, q); done || err != nil {
				return err
			}
		}
		last, ok := t.entry.base(t.in)
		if !timed && u.Request == (cook.Request{AtRisk: u.Request.AtRisk}) || !ok {
			return t.safeBare(ctx, u.Request.AtRisk)
		}
		if amended, ok := t.parsers[t.lang.Tag].Amend(last, text); ok {
			last = amended.Request
		}
		u.Request = last
	} else if bags := t.matching(u.Food.ID, u.Food.Alternatives); len(bags) > 0 && !timed && !details(u.Request) {
		return t.safeBags(ctx, bags, u.Request.AtRisk)
	}
	if u.Problem != nil && u.Problem.ID != phrase.ProblemNoFood {
		return t.problem(ctx, text, u)
	}
	q := question{request: u.Request, others: u.Food.Alternatives}
	brief := u
	brief.Food.Alternatives = nil
	brief.Unplaced = t.unread(u.Unplaced)
	q.heard = t.lang.Heard(brief)
	t.times(&q, text, u)
	return t.answerSafe(ctx, q)
}

// details tells whether more was said of a piece than what it is and who eats it.
func details(r cook.Request) bool {
	return r != cook.Request{Food: r.Food, AtRisk: r.AtRisk, Pieces: r.Pieces}
}

// unread leaves out the words that are read here.
func (t *turn) unread(tokens []phrase.Token) []phrase.Token {
	known := map[string]bool{}
	for _, id := range [...]reply.ID{
		reply.TypedUnsure, reply.TypedYesterday, reply.TypedOkay, reply.TypedAsks, reply.TypedTomorrow, reply.TypedReheat,
	} {
		for _, w := range t.lang.Words(id) {
			for part := range strings.FieldsSeq(w) {
				known[part] = true
			}
		}
	}
	var out []phrase.Token
	for _, k := range tokens {
		if !known[strings.TrimSpace(spaced(k.Text))] {
			out = append(out, k)
		}
	}
	return out
}

// soonPulled is how much longer than its span something may have been in before it is taken to be out.
// House rule: spans are said in round figures.
const soonPulled = 10 * time.Minute

// times fills in when it went in and came out. What nobody knows is taken on the safe side.
func (t *turn) times(q *question, text string, u phrase.Understood) {
	now := t.in.At
	s := spaced(text)
	yesterday := contains(s, t.lang.Words(reply.TypedYesterday))
	q.in, q.unsure = now, true
	at, needs := t.since(u)
	span := u.Request.Span
	if spans := t.spans(text); u.Ago > 0 && len(spans) == 2 { // "in 6 h ago for 2 h"
		u.Ago, span = max(spans[0], spans[1]), min(spans[0], spans[1])
	}
	switch {
	case u.Ago > 0:
		q.in, q.unsure = now.Add(-u.Ago), false
	case needs:
		q.needs = true
	case !at.IsZero():
		q.in, q.unsure = at, false
		if midnight := time.Date(now.In(at.Location()).Year(), now.In(at.Location()).Month(), now.In(at.Location()).Day(), 0, 0, 0, 0, at.Location()); yesterday && !at.Before(midnight) {
			q.in = at.AddDate(0, 0, -1)
		}
	case span > 0:
		q.in, q.unsure = now.Add(-span), yesterday
		span = 0
	}
	if span > 0 && !q.unsure && now.Sub(q.in)-span > soonPulled {
		q.out = q.in.Add(span)
	}
	q.unsure = q.unsure || contains(s, t.lang.Words(reply.TypedUnsure))
	q.request.Span = 0
}

// spans are the spans of time in a text, each with the finer unit behind it: 1 h 30 min.
func (t *turn) spans(text string) []time.Duration {
	var out []time.Duration
	end := -1
	hours := false
	for _, m := range spanShape.FindAllStringSubmatchIndex(strings.ToLower(text), -1) {
		s := strings.ToLower(text)
		d, ok := t.span(s[m[2]:m[3]], s[m[4]:m[5]])
		if !ok {
			continue
		}
		if hours && d < time.Hour && strings.TrimSpace(s[end:m[0]]) == "" {
			out[len(out)-1] += d
		} else {
			out = append(out, d)
		}
		end, hours = m[1], d >= time.Hour
	}
	return out
}

// safeFollows answers the last question again with what is added to it.
func (t *turn) safeFollows(ctx context.Context, text string, u phrase.Understood, q question) (done bool, err error) {
	changed := false
	if u.Since != nil || u.Ago > 0 || u.Request.Span > 0 && u.Request == (cook.Request{Span: u.Request.Span}) {
		if q.bag != 0 {
			return false, nil // a bag's start is moved, not asked about
		}
		changed = true
		cores := q.cores
		t.times(&q, text, u)
		q.cores = cores
	}
	if q.bag != 0 { // only who eats it can be another
		if u.Request != (cook.Request{AtRisk: true}) {
			return false, nil
		}
		q.atRisk = true
		return true, t.answerSafe(ctx, q)
	}
	if amended, ok := t.parsers[t.lang.Tag].Amend(q.request, text); ok {
		q.request, q.heard, changed = amended.Request, t.lang.Heard(amended), true
		q.request.Span = 0
	}
	if u.Denied.AtRisk && q.atRisk {
		q.atRisk, changed = false, true
	}
	if !changed {
		return false, nil
	}
	return true, t.answerSafe(ctx, q)
}
