package main

import (
	"fmt"
	"runtime/debug"
	"slices"
	"strings"

	"bagwatch/internal/food"
	"bagwatch/internal/reply"
	"bagwatch/locales"
)

func foodID(s string) food.ID { return food.ID(s) }

// foodsCommand lists the catalogue.
type foodsCommand struct {
	Lang string `help:"Language of the names, such as en or de." placeholder:"TAG"`
}

// Run lists.
func (c *foodsCommand) Run(env environment) error {
	t, err := newTools(locales.Only(c.Lang, locale(env)), nil)
	if err != nil {
		return err
	}
	l := t.texts.Language(c.Lang, locale(env))
	_, err = fmt.Fprintln(env.out, foodList(t.model.Foods(), l, reply.Options{}))
	return err
}

// foodList lists the catalogue by group: name, usual doneness and water.
func foodList(foods *food.Catalogue, l *reply.Language, o reply.Options) reply.Text {
	var text reply.Text
	var group food.Group
	for _, f := range byGroup(foods) {
		if f.Group != group {
			if group = f.Group; len(text) > 0 {
				text = append(text, nil)
			}
			text = append(text, reply.Line{{Text: l.GroupName(group), Style: reply.Strong}})
		}
		step := f.DefaultStep()
		text = append(text, reply.Line{{Text: l.Say(reply.FoodRow, reply.Data{
			"Food": l.FoodName(f.ID, 1), "Doneness": l.DonenessName(step.ID), "Water": l.Water(step.Default, o.Units)})}})
	}
	return text
}

// byGroup sorts the catalogue as a counter is walked: group by group, ids in order.
func byGroup(foods *food.Catalogue) []food.Food {
	list := slices.Collect(foods.All())
	slices.SortStableFunc(list, func(a, b food.Food) int { return strings.Compare(string(a.Group), string(b.Group)) })
	return list
}

// versionCommand prints the version.
type versionCommand struct{}

// Run prints what the build knows of itself.
func (versionCommand) Run(env environment) error {
	fmt.Fprintln(env.out, "bagwatch", version())
	return nil
}

func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "unknown"
	}
	v := info.Main.Version
	for _, s := range info.Settings {
		if s.Key == "vcs.revision" && (v == "" || v == "(devel)") {
			v = s.Value
		}
	}
	if v == "" {
		v = "(devel)"
	}
	return v + " " + info.GoVersion
}
