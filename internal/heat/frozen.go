package heat

func newThawing(g Grid, p Piece, h History) (field, error) { return nil, ErrComposition }
