package figures

import (
	"fmt"
	"time"
)

// Month is a civil month, counted from that of year 0: the twelfth of each year divides by twelve with eleven over.
type Month int

// MonthOf is the month of a civil day.
func MonthOf(day time.Time) Month { return Month(day.Year()*12 + int(day.Month()) - 1) }

// First is its first day, at midnight UTC.
func (m Month) First() time.Time {
	return time.Date(int(m)/12, time.Month(int(m)%12+1), 1, 0, 0, 0, 0, time.UTC)
}

// String writes it as ISO 8601 has it: 2026-11.
func (m Month) String() string { return m.First().Format("2006-01") }

// MarshalText is String, so that maps of months can be kept as JSON.
func (m Month) MarshalText() ([]byte, error) { return []byte(m.String()), nil }

// UnmarshalText is ParseMonth.
func (m *Month) UnmarshalText(text []byte) (err error) {
	*m, err = ParseMonth(string(text))
	return err
}

// ParseMonth reads what String writes.
func ParseMonth(text string) (Month, error) {
	day, err := time.Parse("2006-01", text)
	if err != nil || day.Year() < 1 {
		return 0, fmt.Errorf("%q is no month: write it as 2026-11", text)
	}
	return MonthOf(day), nil
}
