package store

// ParseURL lets the tests look at what an address turns into.
var ParseURL = parseURL
