package telegram

// Inside looks for properties that cannot be seen on the wire.
var (
	HTML    = html
	Split   = split
	Slice16 = slice16
	Units   = units
	Cut     = cut
)
