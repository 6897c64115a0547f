package sheet

// What the tests of this room look at from outside.

var FactTerms = factTerms
