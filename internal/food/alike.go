package food

// alike says which step of a table a word of another table stands for: people order fish and braises in
// the words of steak. Common practice, no source.
var alike = map[Texture]map[Doneness]Doneness{
	TextureFish: {
		"rare": "glassy", "medium-rare": "just-set", "medium": "flaking", "medium-well": "flaking",
	},
	TextureTough: {
		"medium-rare": "sliceable", "medium": "sliceable", "medium-well": "fork-tender", "well-done": "falling-apart",
	},
}

// Alike gives the step of f that a doneness word of another food stands for, such as "just-set" for
// salmon ordered medium rare. False when the word means nothing for f, as rare does for pork.
func (f Food) Alike(d Doneness) (Doneness, bool) {
	if _, own := f.Step(d); own {
		return d, true
	}
	step, ok := alike[f.Texture][d]
	if !ok {
		return "", false
	}
	_, ok = f.Step(step)
	return step, ok
}
