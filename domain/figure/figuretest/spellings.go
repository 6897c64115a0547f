// Package figuretest holds the one table of spellings of a number, for the tests of all that reads numbers.
package figuretest

// Spelling is one way to type a number.
type Spelling struct {
	Typed   string
	Text    string // the number in ASCII, with the decimals typed
	Refused bool   // it is no number that anyone could be sure of
}

// Spellings has what phones, keyboards, spreadsheets and printed papers give.
var Spellings = []Spelling{
	{Typed: "3", Text: "3"}, {Typed: "007", Text: "7"}, {Typed: "3.40", Text: "3.40"}, {Typed: "3,5", Text: "3.5"},
	{Typed: ".5", Text: "0.5"}, {Typed: "5.", Text: "5"}, {Typed: "-0", Text: "0"}, {Typed: "−0.00", Text: "0.00"},
	{Typed: " \u00a0 12 \t", Text: "12"}, {Typed: "\ufeff12\u200e", Text: "12"},
	// Signs.
	{Typed: "+3", Text: "3"}, {Typed: "+ 3", Text: "3"}, {Typed: "\uff0b3", Text: "3"},
	{Typed: "-3", Text: "-3"}, {Typed: "−3", Text: "-3"}, {Typed: "–3", Text: "-3"}, {Typed: "—3", Text: "-3"},
	{Typed: "\u20123", Text: "-3"}, {Typed: "\u20103", Text: "-3"}, {Typed: "\u20113", Text: "-3"},
	{Typed: "\ufe633", Text: "-3"}, {Typed: "\uff0d3", Text: "-3"}, {Typed: "- 3", Text: "-3"},
	{Typed: "+-3", Refused: true}, {Typed: "--3", Refused: true}, {Typed: "3-", Refused: true},
	{Typed: "-", Refused: true},
	// Thousands, in groups of three.
	{Typed: "1 200", Text: "1200"}, {Typed: "1\u00a0200", Text: "1200"}, {Typed: "1\u202f200", Text: "1200"},
	{Typed: "1\u2009200", Text: "1200"}, {Typed: "1'200", Text: "1200"}, {Typed: "1’200", Text: "1200"},
	{Typed: "1 234 567,8", Text: "1234567.8"}, {Typed: "1,234.5", Text: "1234.5"}, {Typed: "1.234,5", Text: "1234.5"},
	{Typed: "1.234.567", Text: "1234567"}, {Typed: "1,234,567.89", Text: "1234567.89"},
	{Typed: "1,23,456.7", Text: "123456.7"},
	{Typed: "1 23", Refused: true}, {Typed: "1 2345", Refused: true}, {Typed: "1234 567", Refused: true},
	{Typed: "1 234'567", Refused: true}, {Typed: "1.2.3", Refused: true}, {Typed: "1,23.5", Refused: true},
	{Typed: "1,234.567.8", Refused: true}, {Typed: "1  200", Refused: true}, {Typed: "1\t200", Refused: true},
	{Typed: "0,123,456", Refused: true}, {Typed: "1.234 567", Refused: true}, {Typed: "''1", Refused: true},
	// Digits and marks of other scripts and of full width.
	{Typed: "٣", Text: "3"}, {Typed: "١٢٣٫٥", Text: "123.5"}, {Typed: "١٬٢٣٤", Text: "1234"},
	{Typed: "１２．５", Text: "12.5"}, {Typed: "१२३", Text: "123"},
	// No exponents, no other bases, nothing without a size.
	{Typed: "1e3", Refused: true}, {Typed: "1E-3", Refused: true}, {Typed: "0x10", Refused: true},
	{Typed: "1_000", Refused: true},
	{Typed: "NaN", Refused: true}, {Typed: "Inf", Refused: true}, {Typed: "∞", Refused: true}, {Typed: "½", Refused: true},
	{Typed: "10²", Refused: true}, {Typed: "1/2", Refused: true}, {Typed: "5%", Refused: true},
	{Typed: "", Refused: true}, {Typed: ".", Refused: true}, {Typed: "twelve", Refused: true},
	{Typed: "12 or 13", Refused: true},
	{Typed: "\xff3", Refused: true},
}
