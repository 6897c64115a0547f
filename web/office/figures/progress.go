package figures

import (
	"cmp"
	"slices"
	"strconv"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/figures"
	"ledgerwheel/store"
	"ledgerwheel/web/chart"
)

// ages are the classes of age in which work in progress is counted: days since taking in, up to and with.
var ages = []int{7, 14, 30, 60}

// inProgress counts the watches that the shop has now, by stage or by a key, and by how long ago they were taken in.
func inProgress(list []store.InProgress, names map[string]string, a asked) report {
	r := report{columns: []column{figured("Watches", "")}, chart: chart.FigureRows{Title: "Watches in the shop now", Unit: "watches", FromZero: true}}
	before := 0
	for _, days := range ages {
		r.columns = append(r.columns, figured(strconv.Itoa(before)+" to "+strconv.Itoa(days)+" days", ""))
		before = days + 1
	}
	r.columns = append(r.columns, figured("Older", ""), figured("Oldest", "days"))
	of := map[string][]store.InProgress{}
	for _, p := range list {
		key := p.Key
		if a.by == figures.ByAll {
			key = string(p.Stage)
		}
		of[key] = append(of[key], p)
	}
	for key, rows := range of {
		label := name(a.by, key, names)
		if a.by == figures.ByAll {
			label = docket.Stage(key).Label()
		}
		r.lines = append(r.lines, aged(rows, a.today, line{label: label, key: key}))
	}
	stages := docket.Stages()
	slices.SortFunc(r.lines, func(x, y line) int {
		if a.by == figures.ByAll {
			return cmp.Compare(slices.Index(stages, docket.Stage(x.key)), slices.Index(stages, docket.Stage(y.key)))
		}
		return cmp.Compare(x.label, y.label)
	})
	if a.by == figures.ByAll {
		for i := range r.lines {
			r.lines[i].cells[0].href = "/dockets?stage=" + r.lines[i].key
		}
	}
	if len(list) > 0 {
		foot := aged(list, a.today, line{label: "Together"})
		foot.cells[0].href = "/dockets"
		r.foot = &foot
	}
	return r
}

// aged counts by age.
func aged(list []store.InProgress, today time.Time, l line) line {
	counts, all, oldest := make([]int64, len(ages)+1), int64(0), 0
	for _, p := range list {
		days := int(today.Sub(p.ReceivedOn) / (24 * time.Hour))
		class, _ := slices.BinarySearch(ages, days)
		counts[class] += p.N
		all, oldest = all+p.N, max(oldest, days)
	}
	l.cells = append(l.cells, count(all))
	for _, n := range counts {
		l.cells = append(l.cells, count(n))
	}
	l.cells = append(l.cells, count(int64(oldest)))
	l.mid = of(float64(all))
	return l
}
