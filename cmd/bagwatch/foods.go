package main

import (
	"fmt"
	"runtime/debug"

	"bagwatch/internal/food"
)

func foodID(s string) food.ID { return food.ID(s) }

// foodsCommand lists the catalogue.
type foodsCommand struct {
	Lang string `help:"Language of the names, such as en or de." placeholder:"TAG"`
}

// Run lists.
func (c *foodsCommand) Run(env environment) error {
	t, err := newTools()
	if err != nil {
		return err
	}
	l := t.texts.Language(c.Lang, locale(env))
	var group food.Group
	for f := range t.model.Foods().All() {
		if f.Group != group {
			group = f.Group
			fmt.Fprintf(env.out, "\n%s\n", l.GroupName(group))
		}
		step := f.DefaultStep()
		fmt.Fprintf(env.out, "  %s: %s, %s (%s)\n", l.FoodName(f.ID, 1), l.DonenessName(step.ID), l.Water(step.Default, "metric"), f.ID)
	}
	return nil
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
