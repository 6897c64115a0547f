package loan

import (
	"strings"
	"testing"
	"time"
)

var today = time.Date(2026, 11, 24, 0, 0, 0, 0, time.UTC)

func TestWatch(t *testing.T) {
	t.Parallel()
	good := Watch{Maker: "Pellwarne", Model: "Warden", Serial: "L 1", ValueMinor: 12000, Currency: "GBP", State: "no marks"}
	if bad := good.Problems(); len(bad) != 0 || good.Title() != "Pellwarne Warden, serial L 1" {
		t.Errorf("%s: %v", good.Title(), bad)
	}
	for field, change := range map[string]func(*Watch){"maker": func(w *Watch) { w.Maker = "" }, "value": func(w *Watch) { w.ValueMinor = 0 },
		"state": func(w *Watch) { w.State = "" }, "serial": func(w *Watch) { w.Serial = strings.Repeat("x", 101) }} {
		w := good
		change(&w)
		if bad := w.Problems(); bad[field] == "" || len(bad) != 1 {
			t.Errorf("%s: %v", field, bad)
		}
	}
}

func TestOutAndBack(t *testing.T) {
	t.Parallel()
	deposit, none := int64(2000), int64(0)
	good := Out{WatchID: 1, State: "no marks", DueOn: today, DepositMinor: &deposit, DepositHow: "cash"}
	if bad := good.Problems(today); len(bad) != 0 {
		t.Errorf("out: %v", bad)
	}
	for field, change := range map[string]func(*Out){"watch": func(o *Out) { o.WatchID = 0 }, "out_state": func(o *Out) { o.State = "" },
		"due_on": func(o *Out) { o.DueOn = today.AddDate(0, 0, -1) }, "deposit": func(o *Out) { o.DepositMinor = &none },
		"deposit_how": func(o *Out) { o.DepositHow = "" }} {
		o := good
		change(&o)
		if bad := o.Problems(today); bad[field] == "" || len(bad) != 1 {
			t.Errorf("%s: %v", field, bad)
		}
	}
	if bad := (Back{State: "no marks"}).Problems(false, 0); len(bad) != 0 {
		t.Errorf("back: %v", bad)
	}
	if bad := (Back{State: "no marks"}).Problems(true, 0); bad["deposit_back"] == "" {
		t.Error("nobody says what becomes of the deposit")
	}
	if good.TillMinor() != 2000 || (Out{DepositMinor: &deposit, DepositHow: "card"}).TillMinor() != 0 || (Out{DepositHow: Cash}).TillMinor() != 0 {
		t.Error("cash lies in the till, and nothing else")
	}
	half, more, less := int64(800), int64(2001), int64(-1)
	for _, tt := range []struct {
		back  Back
		field string
	}{{Back{State: "x", ReturnedMinor: &deposit}, ""}, {Back{State: "x"}, "deposit_returned"}, {Back{State: "x", ReturnedMinor: &more}, "deposit_returned"},
		{Back{State: "x", ReturnedMinor: &less}, "deposit_returned"}, {Back{State: "x", ReturnedMinor: &half}, "deposit_back"},
		{Back{State: "x", ReturnedMinor: &half, DepositBack: "the crystal"}, ""}} {
		bad := tt.back.Settled(2000).Problems(true, 2000)
		if tt.field == "" && len(bad) != 0 || tt.field != "" && (bad[tt.field] == "" || len(bad) != 1) {
			t.Errorf("%+v: %v, want %s", tt.back, bad, tt.field)
		}
	}
	if KeptOutProblem("") == "" || KeptOutProblem("His own goes to the maker.") != "" {
		t.Error("a reason is wanted, and does")
	}
}

func TestOverdue(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		due        time.Time
		gone, want bool
	}{{time.Time{}, false, false}, {time.Time{}, true, true}, {today, false, false}, {today.AddDate(0, 0, -1), false, true}} {
		if got := Overdue(tt.due, today, tt.gone); got != tt.want {
			t.Errorf("due %v, own watch gone %v: %v", tt.due, tt.gone, got)
		}
	}
}
