package phrase

// MaxSteps bounds Steps for any message: the corrections look at no more than all words of
// the vocabulary each, everything else is a small number of steps for each of the runes.
func (p *Parser) MaxSteps() int { return maxCorrections*len(p.book.words) + 64*MaxRunes }

// Steps counts the work for a message.
func (p *Parser) Steps(text string) int {
	r := reader{p: p, typed: text}
	r.parse()
	return r.steps
}
