package visit

import (
	"errors"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"ledgerwheel/domain/docket"
)

// The check character is that of ISO 7064 MOD 37,36, whose own worked example docket's tests hold.
func TestNumber(t *testing.T) {
	t.Parallel()
	for id, body := range map[Number]string{1: "V00001", 42: "V00042", 99999: "V99999", 123456: "V123456"} {
		c, err := docket.CheckCharacter(body)
		if err != nil {
			t.Fatal(err)
		}
		want := "V-" + body[1:] + "-" + string(c)
		if got := id.String(); got != want {
			t.Errorf("%d is written %s, want %s", int64(id), got, want)
		}
		for _, typed := range []string{want, strings.ToLower(want), id.Compact(), " " + id.Compact() + " ",
			"https://shop.example/v/" + id.Compact()} {
			if got, err := Parse(typed); err != nil || got != id {
				t.Errorf("%q is read as %d, %v", typed, got, err)
			}
		}
	}
	if Number(0).String() != "no visit" {
		t.Error("visit 0 has a number")
	}
}

// Every single slip is caught, as the standard promises for one substituted character.
func TestNumberSlips(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		n := Number(rapid.Int64Range(1, 99_999_999).Draw(t, "id"))
		text := []byte(n.Compact())
		at := rapid.IntRange(1, len(text)-1).Draw(t, "at")
		slip := rapid.SampledFrom([]byte("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ")).Draw(t, "slip")
		if text[at] == slip {
			return
		}
		text[at] = slip
		if got, err := Parse(string(text)); !errors.Is(err, ErrShape) {
			t.Fatalf("%s with a slip, %s, is read as %s", n, text, got)
		}
	})
	for _, typed := range []string{"", "V", "26-00042-K", "2600042K", "V-0001-5", "V-00000-0", "V00042", "/v/"} {
		if got, err := Parse(typed); err == nil {
			t.Errorf("%q is read as %s", typed, got)
		}
	}
}

func TestJoining(t *testing.T) {
	t.Parallel()
	day := time.Date(2026, 11, 24, 0, 0, 0, 0, time.UTC)
	good := Joining{Visit: 3, OfCustomer: 7, Customer: 7, BeganOn: day, Today: day}
	if bad := good.Problems(); len(bad) != 0 {
		t.Errorf("refused: %v", bad)
	}
	for field, change := range map[string]func(*Joining){
		"with": func(j *Joining) { j.BeganOn = day.AddDate(0, 0, -1) }, "customer_choice": func(j *Joining) { j.Customer = 8 },
	} {
		j := good
		change(&j)
		if bad := j.Problems(); bad[field] == "" || len(bad) != 1 {
			t.Errorf("%s: %v", field, bad)
		}
	}
	old := good
	old.Visit = 0
	if old.Problems()["with"] == "" {
		t.Error("a docket from before visits is joined")
	}
	someone := good
	someone.Customer = 0
	if someone.Problems()["customer_choice"] == "" {
		t.Error("somebody new joins another's visit")
	}
}
