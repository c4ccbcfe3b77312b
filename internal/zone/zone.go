// Package zone finds a time zone by the name of a city or a country, or by a place on the map.
//
// The zones, their principal places and countries are those of the IANA time zone database
// (zones.csv names the release); cities.txt adds cities that follow the clock of another one. A
// misspelt name is found when it is a letter or two off. Coordinates are degrees, north and east
// positive. A place gives the zones whose principal places are nearest: a guess to be confirmed, since
// the borders of the zones are not in here. Start with [Find] and [Near].
package zone

import (
	"cmp"
	_ "embed"
	"math"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"
	_ "time/tzdata" // the zones' clocks, wherever the program runs
	"unicode"

	"golang.org/x/text/runes"
	"golang.org/x/text/transform"
	"golang.org/x/text/unicode/norm"
)

//go:embed zones.csv
var zonesCSV string

//go:embed cities.txt
var citiesText string

// Zone is one time zone.
type Zone struct {
	Name    string // as [time.LoadLocation] knows it
	City    string // its principal place
	Country string // two-letter code

	latitude, longitude float64
}

// Location loads the zone's clock.
func (z Zone) Location() (*time.Location, error) { return time.LoadLocation(z.Name) }

type table struct {
	zones   []Zone
	byName  map[string][]int // folded names → zones
	names   []string         // the folded names, sorted, for the search of misspelt ones
	country map[string]bool  // folded names of countries
}

var tables = sync.OnceValue(read)

func read() table {
	t := table{byName: map[string][]int{}, country: map[string]bool{}}
	byZone := map[string]int{}
	for line := range strings.Lines(zonesCSV) {
		line = strings.TrimSpace(line)
		if line == "" || line[0] == '#' {
			continue
		}
		f := strings.SplitN(line, ",", 5)
		lat, _ := strconv.ParseFloat(f[2], 64) // a test reads the whole table
		lon, _ := strconv.ParseFloat(f[3], 64)
		z := Zone{Name: f[0], City: city(f[0]), Country: f[1], latitude: lat, longitude: lon}
		i := len(t.zones)
		t.zones = append(t.zones, z)
		byZone[z.Name] = i
		t.add(z.City, i)
		t.add(f[4], i)
		if name := fold(f[4]); name != fold(z.City) { // Singapore is both
			t.country[name] = true
		}
	}
	for line := range strings.Lines(citiesText) {
		zone, names, ok := strings.Cut(strings.TrimSpace(line), ":")
		if !ok || zone[0] == '#' {
			continue
		}
		for name := range strings.SplitSeq(names, ",") {
			t.add(name, byZone[zone])
		}
	}
	for name := range t.byName {
		t.names = append(t.names, name)
	}
	slices.Sort(t.names)
	return t
}

func (t *table) add(name string, zone int) {
	name = fold(name)
	if name != "" && !slices.Contains(t.byName[name], zone) {
		t.byName[name] = append(t.byName[name], zone)
	}
}

// city is the last part of a zone's name.
func city(name string) string {
	return strings.ReplaceAll(name[strings.LastIndexByte(name, '/')+1:], "_", " ")
}

// fold drops case, accents and everything but letters, and joins words by one space.
func fold(s string) string {
	s, _, _ = transform.String(transform.Chain(norm.NFD, runes.Remove(runes.In(unicode.Mn)), norm.NFC), s)
	return strings.Join(strings.FieldsFunc(strings.ToLower(s), func(r rune) bool { return !unicode.IsLetter(r) }), " ")
}

// ByName finds a zone by its full name, such as "Europe/Lisbon".
func ByName(name string) (Zone, bool) {
	for _, z := range tables().zones {
		if z.Name == name {
			return z, true
		}
	}
	return Zone{}, false
}

// longest is the longest name that is looked at, in bytes: longer than any city's.
const longest = 60

// Find finds the zones a typed name can mean, best first: a city, a country, a zone's full name; else
// names a letter or two off, exact being false then. Of a country with several zones all are given.
func Find(typed string) (zones []Zone, exact bool) {
	if len(typed) > longest {
		return nil, false
	}
	if z, ok := ByName(strings.TrimSpace(typed)); ok {
		return []Zone{z}, true
	}
	t := tables()
	want := fold(typed)
	if ids := t.byName[want]; len(ids) > 0 {
		return t.pick(ids), true
	}
	type near struct {
		name string
		d    int
	}
	var found []near
	runesWant := []rune(want)
	allowed := 1 + len(runesWant)/6 // a letter in a short name, two from six letters on, three from twelve
	if len(runesWant) < 4 {
		return nil, false
	}
	for _, name := range t.names {
		if d := distance(runesWant, []rune(name), allowed); d <= allowed {
			found = append(found, near{name, d})
		}
	}
	slices.SortStableFunc(found, func(a, b near) int { return cmp.Compare(a.d, b.d) })
	for _, n := range found {
		for _, z := range t.pick(t.byName[n.name]) {
			if !slices.Contains(zones, z) {
				zones = append(zones, z)
			}
		}
	}
	return zones, false
}

func (t table) pick(ids []int) []Zone {
	zones := make([]Zone, len(ids))
	for i, id := range ids {
		zones[i] = t.zones[id]
	}
	return zones
}

// distance is the number of letters to add, drop, change or swap, or more than most.
func distance(a, b []rune, most int) int {
	if max(len(a), len(b))-min(len(a), len(b)) > most {
		return most + 1
	}
	before, last, row := make([]int, len(b)+1), make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range last {
		last[j] = j
	}
	for i := range a {
		row[0] = i + 1
		for j := range b {
			change := 1
			if a[i] == b[j] {
				change = 0
			}
			row[j+1] = min(last[j+1]+1, row[j]+1, last[j]+change)
			if i > 0 && j > 0 && a[i] == b[j-1] && a[i-1] == b[j] {
				row[j+1] = min(row[j+1], before[j-1]+1)
			}
		}
		before, last, row = last, row, before
	}
	return last[len(b)]
}

// Near gives zones whose principal places are nearest to a place, the nearest first, at most count of them
// and one for each clock: of zones with the same time now and in half a year the nearest stands for all.
// It is a guess.
func Near(latitude, longitude float64, at time.Time, count int) []Zone {
	if math.IsNaN(latitude) || math.IsNaN(longitude) || math.Abs(latitude) > 90 || math.Abs(longitude) > 180 {
		return nil
	}
	type far struct {
		Zone
		d float64
	}
	var all []far
	for _, z := range tables().zones {
		all = append(all, far{z, angle(latitude, longitude, z.latitude, z.longitude)})
	}
	slices.SortStableFunc(all, func(a, b far) int { return cmp.Compare(a.d, b.d) })
	var out []Zone
	seen := map[[2]int]bool{}
	for _, f := range all {
		if len(out) == count {
			break
		}
		clock, err := offsets(f.Zone, at)
		if err != nil || seen[clock] {
			continue
		}
		seen[clock] = true
		out = append(out, f.Zone)
	}
	return out
}

// offsets are a zone's offsets from UTC now and in half a year, in seconds.
func offsets(z Zone, at time.Time) ([2]int, error) {
	loc, err := z.Location()
	if err != nil {
		return [2]int{}, err
	}
	_, now := at.In(loc).Zone()
	_, later := at.AddDate(0, 6, 0).In(loc).Zone()
	return [2]int{now, later}, nil
}

// angle is the great-circle distance in radians, by the haversine formula.
func angle(lat1, lon1, lat2, lon2 float64) float64 {
	const rad = math.Pi / 180
	s := func(x float64) float64 { return math.Pow(math.Sin(x*rad/2), 2) }
	h := s(lat2-lat1) + math.Cos(lat1*rad)*math.Cos(lat2*rad)*s(lon2-lon1)
	return 2 * math.Asin(math.Min(1, math.Sqrt(h)))
}
