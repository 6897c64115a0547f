package office

import (
	"fmt"
	"net/http"
	"time"

	"ledgerwheel/domain/money"
	"ledgerwheel/domain/morning"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

// namedAtOnce is how many dockets a figure of the morning names; its list has the others.
const namedAtOnce = 3

// showOwner is the owner's morning: what needs the owner first, then how the shop stands, and what is the owner's to keep.
func (s *Room) showOwner(w http.ResponseWriter, r *http.Request) error {
	m, err := s.store.Morning(r.Context(), s.Today(r))
	if err != nil {
		return err
	}
	steps, err := s.steps(r)
	if err != nil {
		return err
	}
	f := morning.Of(openOf(m.Open), s.Now(), s.Today(r))
	v := ownerView{Backups: s.standing(m.Backup), Record: s.checkStanding(m.Check), Sealing: s.sealTrouble(), Steps: *steps,
		Asks: append(morningAsks(f), s.asks(r, m.Standing)...), Figures: append(workFigures(f, m.More), s.moneyFigures(r, m)...)}
	if n := m.Due.OrdersLate(s.Today(r)); n > 0 {
		v.Figures = append(v.Figures, morningFigure{ID: "parts", Label: "Parts overdue", Href: "/orders/late", Value: view.Itoa(n)})
	} else {
		v.Figures = append(v.Figures, morningFigure{ID: "parts", Label: "Parts overdue", Href: "/orders/late", Value: "none"})
	}
	return page.Render(w, r, http.StatusOK, ownerPage(s.Page(r, "Owner"), v))
}

// openOf are the open dockets as the morning's rules read them.
func openOf(rows []store.DocketRow) []morning.Open {
	open := make([]morning.Open, len(rows))
	for i, row := range rows {
		open[i] = morning.Open{Docket: row.Docket, Facts: row.Facts, Watch: row.Watch, MovedAt: row.MovedAt, BenchID: row.BenchID, Bench: row.Bench}
	}
	return open
}

// morningAsks are what of the work needs the owner now.
func morningAsks(f morning.Figures) (asks []ownerAsk) {
	if n := len(f.Late); n > 0 {
		asks = append(asks, ownerAsk{counted(n, "watch is", "watches are") + " late, the longest by " + counted(f.Late[0].Days, "day.", "days."), "See which", "/?show=late"})
	}
	if f.Undecided > 0 {
		asks = append(asks, ownerAsk{counted(f.Undecided, "comeback waits", "comebacks wait") + " for a cause, or for your word on its cover.", "See which", "/comebacks"})
	}
	return asks
}

// workFigures are those of the open dockets; more says that there are others which were not counted.
func workFigures(f morning.Figures, more bool) []morningFigure {
	count := func(n int) string {
		switch {
		case n == 0:
			return "none"
		case more:
			return "at least " + view.Itoa(n)
		}
		return view.Itoa(n)
	}
	late := morningFigure{ID: "late", Label: "Late", Href: "/?show=late", Value: count(len(f.Late))}
	for _, l := range f.Late[:min(len(f.Late), namedAtOnce)] {
		late.Lines = append(late.Lines, morningLine{l.Number.String(), view.DocketURL(l.Number.String(), ""), counted(l.Days, "day", "days") + ", " + l.Watch})
	}
	waiting := morningFigure{ID: "waiting", Label: "Waiting longest", Href: "/?show=still", Value: "nothing"}
	for i, w := range f.Waiting[:min(len(f.Waiting), namedAtOnce)] {
		if i == 0 {
			waiting.Value = counted(w.Days, "day", "days")
		}
		waiting.Lines = append(waiting.Lines, morningLine{w.Number.String(), view.DocketURL(w.Number.String(), ""), counted(w.Days, "day", "days") + " for " + w.For})
	}
	benches := morningFigure{ID: "benches", Label: "On each bench", Href: "/dockets", Value: count(len(f.Waiting))}
	for _, b := range f.Benches {
		name, href := b.Name, "/dockets?bench="+page.Itoa64(b.ID)
		if b.ID == 0 {
			name, href = "In nobody’s hands", "/dockets?bench=nobody"
		}
		benches.Lines = append(benches.Lines, morningLine{name, href, view.Itoa(b.N)})
	}
	return []morningFigure{late, {ID: "week", Label: "Promised this week", Href: "/?show=week", Value: count(f.ThisWeek)}, waiting, benches,
		{ID: "comebacks", Label: "Comebacks open", Href: "/comebacks", Value: count(f.Comebacks)}}
}

// moneyFigures are what was taken and what is owed, each in its currency: none is added to another.
func (s *Room) moneyFigures(r *http.Request, m store.Morning) []morningFigure {
	viewer, _ := page.ViewerOf(r.Context())
	today := s.Today(r)
	amount := func(minor int64, code string) string { return money.Format(minor, code, viewer.Shop.Locale) }
	yesterday := morningFigure{ID: "yesterday", Label: "Taken yesterday", Href: "/books/" + today.AddDate(0, 0, -1).Format(time.DateOnly)}
	month := morningFigure{ID: "month", Label: "Taken in " + today.Month().String(), Href: "/books/" + today.Format("2006-01")}
	for _, t := range m.Taken {
		if t.Currency != viewer.Shop.Currency && t.MonthMinor == 0 && t.YesterdayMinor == 0 {
			continue
		}
		yesterday.add(amount(t.YesterdayMinor, t.Currency))
		month.add(amount(t.MonthMinor, t.Currency))
	}
	owed := morningFigure{ID: "owed", Label: "Owed", Href: "/owed"}
	for _, o := range m.Owed {
		owed.add(amount(o.Minor, o.Currency))
		owed.Lines = append(owed.Lines, morningLine{Rest: fmt.Sprintf("billed and not paid, on %s", counted(o.Dockets, "docket", "dockets"))})
	}
	if len(m.Owed) == 0 {
		owed.Value = "nothing"
	}
	return []morningFigure{yesterday, month, owed}
}
