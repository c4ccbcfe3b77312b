package kitchen_test

import (
	"bytes"
	"encoding/json"
	"reflect"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/internal/kitchen"
)

// storedFields lists type and name of every field reachable from a document.
func storedFields(v reflect.Type, into map[string]bool) {
	switch {
	case v.Kind() == reflect.Slice:
		storedFields(v.Elem(), into)
	case v.Kind() == reflect.Struct && v != reflect.TypeFor[time.Time]():
		for i := range v.NumField() {
			f := v.Field(i)
			into[v.Name()+"."+f.Name] = true
			storedFields(f.Type, into)
		}
	}
}

func TestEveryFieldHasRules(t *testing.T) {
	stored := map[string]bool{}
	storedFields(reflect.TypeFor[kitchen.Document](), stored)
	listed := map[string]bool{}
	for _, f := range kitchen.Fields() {
		assert.False(t, listed[f.Name], "%s is listed twice", f.Name)
		assert.NotEmpty(t, f.Export, f.Name)
		listed[f.Name] = true
	}
	for name := range stored {
		assert.True(t, listed[name], "%s is stored, and has no export and forget rule", name)
	}
	for name := range listed {
		assert.True(t, stored[name], "%s has rules and is not stored", name)
	}
}

// TestEveryFieldIsExported empties each field of the full document: its export must change.
func TestEveryFieldIsExported(t *testing.T) {
	full, err := kitchen.Export(sampleV2())
	require.NoError(t, err)
	leaves(t, func(path string, zero func(*kitchen.Document)) {
		d := sampleV2()
		zero(&d)
		got, err := kitchen.Export(d)
		require.NoError(t, err)
		assert.False(t, bytes.Equal(full, got), "%s is not in the export", path)
	})
	var tree map[string]any
	require.NoError(t, json.Unmarshal(full, &tree))
	for _, f := range kitchen.Fields() {
		assert.True(t, found(tree, strings.Split(f.Export, ".")), "%s: no %s in the export", f.Name, f.Export)
	}
	assert.Contains(t, string(full), `"started": "2026-03-28T18:20:00Z"`)
	assert.Contains(t, string(full), "Quay Street")
}

// found follows a path through objects, and the first element of lists.
func found(at any, path []string) bool {
	if len(path) == 0 {
		return true
	}
	switch at := at.(type) {
	case map[string]any:
		next, ok := at[path[0]]
		return ok && found(next, path[1:])
	case []any:
		return len(at) > 0 && found(at[0], path)
	}
	return false
}

// holds tells whether a number or a word of somebody is anywhere in a value.
func holds(v reflect.Value, who kitchen.Who) bool {
	switch v.Kind() {
	case reflect.Struct:
		for i := range v.NumField() {
			if v.Type() != reflect.TypeFor[time.Time]() && holds(v.Field(i), who) {
				return true
			}
		}
	case reflect.Slice, reflect.Array:
		for i := range v.Len() {
			if holds(v.Index(i), who) {
				return true
			}
		}
	case reflect.Int64, reflect.Int:
		return v.Int() == int64(who.ID)
	case reflect.String:
		return strings.Contains(v.String(), who.Name)
	}
	return false
}

// mine is the sample with every person in it being who, and everything they wrote containing their name.
func mine(who kitchen.Who) kitchen.Document {
	d := sampleV2()
	d.Dinner.By, d.Dinner.Marks[0].By = who, who
	d.Bags[0].Starter, d.Bags[0].ClosedBy, d.Bags[0].Name = who, who, who.Name+"'s"
	d.Bags[1].Starter, d.Bags[1].Name = who, who.Name
	d.Diary[0].By, d.Kept[0].By, d.Kept[0].Name, d.Steps[0].By = who, who, who.Name, who
	d.Recents[0].Person, d.Counts[0].Person = who.ID, who.ID
	d.Log[0].Starter, d.Log[0].By, d.Log[0].Note, d.Log[0].Name = who.ID, who.ID, "by "+who.Name, who.Name
	return d
}

func TestForget(t *testing.T) {
	d := mine(ada)
	require.True(t, holds(reflect.ValueOf(d), ada), "the check can fail")
	require.False(t, d.Forget(bruno.ID), "nothing of somebody else's")
	assert.Equal(t, mine(ada), d)
	require.True(t, d.Forget(ada.ID))
	assert.False(t, holds(reflect.ValueOf(d), ada))
	assert.NotContains(t, string(encode(t, d)), "Ada")
	require.False(t, d.Forget(ada.ID))
	require.False(t, d.Forget(0))

	// What the table says becomes of each field does.
	rules := map[string]kitchen.Forgetting{}
	for _, f := range kitchen.Fields() {
		rules[f.Name] = f.Forget
	}
	before := mine(ada)
	var check func(name string, was, is reflect.Value)
	check = func(name string, was, is reflect.Value) {
		switch rules[name] {
		case kitchen.Someone, kitchen.Wiped:
			assert.True(t, is.IsZero(), "%s stayed", name)
			return
		case kitchen.Removed:
			assert.Zero(t, is.Len(), "%s stayed", name)
			return
		}
		_, isTime := was.Interface().(time.Time)
		switch {
		case was.Kind() == reflect.Slice:
			require.Equal(t, was.Len(), is.Len(), name)
			check(name, was.Index(0), is.Index(0))
		case was.Kind() == reflect.Struct && !isTime:
			for i := range was.NumField() {
				check(was.Type().Name()+"."+was.Type().Field(i).Name, was.Field(i), is.Field(i))
			}
		default:
			assert.Equal(t, was.Interface(), is.Interface(), "%s did not stay", name)
		}
	}
	check("", reflect.ValueOf(before), reflect.ValueOf(d))

	// And nothing of others is touched beside it.
	both := mine(bruno)
	both.Bags = append(both.Bags, mine(ada).Bags...)
	require.True(t, both.Forget(ada.ID))
	assert.Equal(t, mine(bruno).Bags, both.Bags[:2])
	assert.True(t, holds(reflect.ValueOf(both), bruno))
}

func TestForgetAll(t *testing.T) {
	d := sampleV2()
	d.ForgetAll()
	lasts := map[string]bool{}
	for _, f := range kitchen.Fields() {
		if f.Forget == kitchen.Lasts {
			lasts[f.Name] = true
		}
	}
	var check func(v reflect.Value)
	check = func(v reflect.Value) {
		for i := range v.NumField() {
			name := v.Type().Name() + "." + v.Type().Field(i).Name
			switch {
			case lasts[name]:
				assert.False(t, v.Field(i).IsZero(), "%s is gone", name)
			case name == "Document.Settings":
				check(v.Field(i))
			default:
				assert.True(t, v.Field(i).IsZero(), "%s is left", name)
			}
		}
	}
	check(reflect.ValueOf(d))
	for _, who := range []kitchen.Who{ada, bruno, cleo} {
		assert.False(t, holds(reflect.ValueOf(d), who))
	}
}
