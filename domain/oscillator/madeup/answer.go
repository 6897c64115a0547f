package madeup

import "slices"

// Answer is what an adviser says of a watch, in the shape of the advise command's JSON.
type Answer struct {
	Verdict string `json:"verdict"` // pass, fail, undecided, not_measured
	Next    struct {
		Kind string `json:"kind"`
		Text string `json:"text"`
	} `json:"next"`
	Advice   []Advice  `json:"advice"`
	Poise    PoiseSaid `json:"poise"`
	Regulate *Regulate `json:"regulate_s_per_day"`
}

// Advice is one line of it, in the order to be done.
type Advice struct {
	Kind         string `json:"kind"`
	Certainty    string `json:"certainty"` // found, suspected
	RemovesMetal bool   `json:"removes_metal"`
	Text         string `json:"text"`
}

// PoiseSaid is what is said of the heavy spot.
type PoiseSaid struct {
	Given         bool    `json:"given"`
	SizePPM       float64 `json:"size_ppm"`
	SizeU95PPM    float64 `json:"size_u95_ppm"`
	HeavyAtDeg    float64 `json:"heavy_at_deg"`
	HeavyAtU95Deg float64 `json:"heavy_at_u95_deg"`
	Withheld      string  `json:"withheld"`
}

// Regulate is what to add to the rate; + is faster.
type Regulate struct {
	Value float64 `json:"value"`
	U95   float64 `json:"u95"`
}

// The kinds of advice that counts look for.
const (
	Magnetised = "magnetised"
	PowerLow   = "power_low"
	Knocking   = "knocking"
	OutOfBeat  = "out_of_beat"
	Isochronic = "isochronism"
	OutOfPoise = "out_of_poise"
	Measure    = "measure_more"
	Within     = "within_limits"
	FinalRun   = "final_run"
)

// Names reports whether any line is of the kind.
func (a Answer) Names(kind string) bool { return a.at(kind) >= 0 }

// at is the place of the first line of a kind, -1 for none.
func (a Answer) at(kind string) int {
	return slices.IndexFunc(a.Advice, func(l Advice) bool { return l.Kind == kind })
}

// Metal reports whether any line takes off or moves mass on the balance.
func (a Answer) Metal() bool {
	return slices.ContainsFunc(a.Advice, func(l Advice) bool { return l.RemovesMetal })
}

// Before reports whether a kind is named, and no line of the other kind stands before it.
func (a Answer) Before(kind, other string) bool {
	i, j := a.at(kind), a.at(other)
	return i >= 0 && (j < 0 || i < j)
}

// Stops reports whether the watch is to be left as it is: within limits or the final run comes next, or only a reading
// that is missing does.
func (a Answer) Stops() bool {
	switch a.Next.Kind {
	case Within, FinalRun:
		return !a.Metal()
	case Measure:
		return a.Names(Within) && !a.Metal()
	}
	return false
}
