package docket

// Cover says whether the warranty covers a comeback: a watch that returned under the warranty of an earlier docket.
type Cover string

// The covers. A docket that is no comeback has none.
const (
	NoComeback Cover = ""
	CoverOpen  Cover = "open" // nobody has decided yet
	Covered    Cover = "covered"
	NotCovered Cover = "not-covered"
)

// Words is c in plain words.
func (c Cover) Words() string {
	switch c {
	case CoverOpen:
		return "not decided yet"
	case Covered:
		return "covered"
	case NotCovered:
		return "not covered"
	}
	return ""
}

// Free reports whether f is work that the warranty covers and for which nothing is priced: nobody need be asked for it.
func (f Facts) Free() bool {
	return f.Cover == Covered && f.Estimate != EstimateDeclined && f.TotalMinor == 0
}
