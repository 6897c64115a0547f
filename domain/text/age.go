package text

import (
	"strconv"
	"time"
)

// Age is an age in its greatest whole unit: 3 hours, 2 days.
func Age(age time.Duration) string {
	for _, unit := range []struct {
		one  time.Duration
		name string
	}{{24 * time.Hour, "day"}, {time.Hour, "hour"}, {time.Minute, "minute"}} {
		n := int(age / unit.one)
		if n >= 2 || n == 1 && unit.name != "day" { // 1 day would hide up to 23 hours
			if n == 1 {
				return "1 " + unit.name
			}
			return strconv.Itoa(n) + " " + unit.name + "s"
		}
	}
	return "less than a minute"
}
