package comeback

// Spent is what a comeback took, as the record has it.
type Spent struct {
	Minutes int // at the bench
	// HourMinor is what an hour at the bench costs the shop, in minor units; 0 where the owner has not said.
	HourMinor int64
	Parts     []SpentPart // that were fitted
}

// SpentPart is a part that was fitted: so many, at the catalogue's cost of one in minor units, nil where nobody said.
type SpentPart struct {
	Quantity  int
	CostMinor *int64
}

// Cost is what a comeback cost the shop, in minor units and without tax.
type Cost struct {
	TimeMinor  *int64 // nil where time was taken and the cost of an hour is not known
	PartsMinor int64  // of the parts whose cost is known
	Unknown    int    // parts whose cost is not
}

// Cost works out what s comes to. Minutes count at a sixtieth of an hour's cost, rounded once to the minor unit, half up.
func (s Spent) Cost() Cost {
	var c Cost
	if s.HourMinor > 0 || s.Minutes == 0 {
		time := (int64(s.Minutes)*s.HourMinor + 30) / 60
		c.TimeMinor = &time
	}
	for _, p := range s.Parts {
		if p.CostMinor == nil {
			c.Unknown++
			continue
		}
		c.PartsMinor += int64(p.Quantity) * *p.CostMinor
	}
	return c
}

// Known reports whether all of it is known, so that Minor is the whole.
func (c Cost) Known() bool { return c.TimeMinor != nil && c.Unknown == 0 }

// Minor is what is known of it.
func (c Cost) Minor() int64 {
	if c.TimeMinor == nil {
		return c.PartsMinor
	}
	return c.PartsMinor + *c.TimeMinor
}
