package toolset_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ledgerwheel/domain/watch"
	"ledgerwheel/web/bench/tools/toolset"
	"ledgerwheel/web/webtest"
)

// typed makes the query of a tool from names and values.
func typed(pairs ...string) url.Values {
	v := url.Values{}
	for i := 0; i+1 < len(pairs); i += 2 {
		v.Set(pairs[i], pairs[i+1])
	}
	return v
}

// answers asks a tool and looks for what its answer should say.
func answers(c *webtest.Client, t *testing.T, slug string, v url.Values, says ...string) {
	t.Helper()
	page := c.Get("/bench/" + slug + "?" + v.Encode()).Want(http.StatusOK)
	said := page.Text("bench-answer")
	for _, want := range says {
		if !strings.Contains(said, want) {
			t.Errorf("%s %v: no %q in %s", slug, v, want, said)
		}
	}
}

// refuses asks a tool what it should refuse beside a field.
func refuses(c *webtest.Client, t *testing.T, slug string, v url.Values, field, says string) {
	t.Helper()
	page := c.Get("/bench/" + slug + "?" + v.Encode()).Want(http.StatusUnprocessableEntity)
	if got := page.Problem(field); !strings.Contains(got, says) {
		t.Errorf("%s %v: beside %s stands %q, want %q", slug, v, field, got, says)
	}
	if want := v.Get(field); want != "" && page.One(field).Data == "input" && page.Value(field) != want {
		t.Errorf("%s keeps %q of %s as %q", slug, want, field, page.Value(field))
	}
}

// The counts are those of published trains (see domain/train's check rows).
func TestTrainTool(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	bench := s.As(s.Watchmaker)
	usual := "80:10,75:10,80:8,15"
	answers(bench, t, "train", typed("train", usual, "graduations", "300", "beats_per_hour", "18 000"),
		"18000", "as it should", "2.5 Hz", "one turn in 60 s", "7 min 30 s", "anticlockwise", "of a track of 300",
		"fourth: pinion 10, wheel 80 60 turns per hour")
	answers(bench, t, "train", typed("wheel_1", "80", "pinion_1", "10", "wheel_2", "75", "pinion_2", "10", "wheel_3", "84",
		"pinion_3", "7", "escape", "20",
		"seconds", "centre"), "28800", "4 Hz", "centre-seconds, direct", "80:10,75:10,84:7,20 seconds=centre")
	answers(bench, t, "train", typed("train", "72:8,72:9,50:6,15", "beats_per_hour", "21600"), "not 21600",
		"It should give 21600", "turns 72 times an hour, not 60")
	answers(bench, t, "train", typed("train", usual, "seconds", "indirect", "seconds_drive", "3/75:10"),
		"seconds pinion of 10, driven from the third arbor")
	answers(bench, t, "train", typed("train", usual, "minute_drive", "2/12:36:12"), "cannon pinion of 12", "second")
	answers(bench, t, "train", typed("train", usual, "seconds", "none"), "Seconds hand none")

	refuses(bench, t, "train", typed("train", ""), "train", "in one line, or count by count")
	refuses(bench, t, "train", typed("train", "80:10,75:5,80:8,15"), "train", "The fourth pinion has 5 leaves")
	refuses(bench, t, "train", typed("train", usual, "escape", "15"), "train", "not both")
	refuses(bench, t, "train", typed("wheel_1", "80", "pinion_1", "0", "escape", "15"), "pinion_1", "no count of 0")
	refuses(bench, t, "train", typed("wheel_1", "-80", "pinion_1", "10", "escape", "15"), "wheel_1", "not negative")
	refuses(bench, t, "train", typed("wheel_1", "80.5", "pinion_1", "10", "escape", "15"), "wheel_1", "Teeth are whole")
	refuses(bench, t, "train", typed("wheel_1", "300", "pinion_1", "10", "escape", "15"), "wheel_1",
		"from 20 to 200 are practical")
	refuses(bench, t, "train", typed("train", usual, "seconds", "indirect"), "seconds_drive",
		"Give what drives the seconds hand")
	refuses(bench, t, "train", typed("train", usual, "seconds", "centre", "seconds_drive", "3/75:10"), "seconds_drive",
		"Only an indirect")
	refuses(bench, t, "train", typed("train", usual, "seconds_drive", "9/75:10"), "seconds_drive", "no ninth arbor")
	refuses(bench, t, "train", typed("train", usual, "minute_drive", "60:12"), "minute_drive", "Write the minute hand")
	refuses(bench, t, "train", typed("train", usual, "graduations", "0"), "graduations", "from 1 to 3600")
	refuses(bench, t, "train", typed("train", usual, "beats_per_hour", "fast"), "beats_per_hour", "above 0")
}

func TestMotionWorkTool(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	bench := s.As(s.Watchmaker)
	answers(bench, t, "motion-work", typed("cannon", "12", "minute_wheel", "36", "minute_pinion", "10", "hour_wheel", "40",
		"dial_hours", "12", "hands_at", "7:30"),
		"12:36,10:40", "Minute hand stands at 180°", "Hour hand stands at 225°")
	// The coursework's motion work whose question has 42 teeth: 14 leaves.
	answers(bench, t, "motion-work", typed("cannon", "16", "minute_wheel", "42", "minute_pinion", "", "hour_wheel", "64",
		"dial_hours", "12"),
		"The minute pinion needs 14 leaves", "found from the other three")
	answers(bench, t, "motion-work", typed("cannon", "12", "minute_wheel", "48", "minute_pinion", "10", "hour_wheel", "60",
		"dial_hours", "24"), "12:48,10:60", "24")
	answers(bench, t, "motion-work", typed("cannon", "12", "minute_wheel", "48", "minute_pinion", "10", "hour_wheel", "60",
		"dial_hours", "12"),
		"for a dial of 24 hours, not 12", "the hands don’t keep together", "30 min", "behind")

	refuses(bench, t, "motion-work", typed("cannon", "16", "minute_wheel", "50", "hour_wheel", "64"), "minute_pinion",
		"it would be 16 2/3")
	refuses(bench, t, "motion-work", typed("cannon", "16", "minute_wheel", "48"), "hour_wheel", "only one count empty")
	refuses(bench, t, "motion-work", typed("cannon", "5", "minute_wheel", "36", "minute_pinion", "10", "hour_wheel", "40"),
		"cannon", "5 leaves")
	refuses(bench, t, "motion-work", typed("cannon", "12", "minute_wheel", "0", "minute_pinion", "10", "hour_wheel", "40"),
		"minute_wheel", "no count of 0")
	refuses(bench, t, "motion-work", typed("cannon", "12", "minute_wheel", "36:1", "minute_pinion", "10", "hour_wheel",
		"40"), "minute_wheel", "")
	refuses(bench, t, "motion-work", typed("cannon", "12", "minute_wheel", "36", "minute_pinion", "10", "hour_wheel", "40",
		"hands_at", "7:60"), "hands_at", "such as 7:30")
}

func TestCountingTool(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	bench := s.As(s.Watchmaker)
	// 330 in a minute are 19800 an hour; u by hand: 19800/√3 · √((2/330)² + (1/60)²) = 202.7, twice that 405, to two
	// digits 410.
	answers(bench, t, "counting", typed("of", "ticks", "number", "330", "within", "2", "seconds", "60", "within_s", "1",
		"rate", "300", "beats_per_hour", "18000"),
		"19800 ± 410 beats per hour", "allows 19800", "doesn’t allow it")
	answers(bench, t, "counting", typed("of", "ticks", "number", "50", "within", "2", "seconds", "10", "within_s", "1",
		"rate", "300"), "16200, 18000, 19800", "count for longer")
	answers(bench, t, "counting", typed("of", "turns", "arbor", "4", "number", "10", "within", "0,1", "seconds", "600",
		"within_s", "0.5", "rate", "300",
		"train", "80:10,75:10,80:8,15", "beats_per_hour", "18000"), "10 turns of the fourth wheel", "allows 18000",
		"The beat by the train 18000 the count allows it")
	answers(bench, t, "counting", typed("of", "teeth", "arbor", "2", "number", "4", "within", "0.1", "seconds", "180",
		"within_s", "0.5", "rate", "0",
		"train", "80:10,75:10,80:8,15"), "4 teeth of the centre wheel")

	count := func(more ...string) url.Values {
		v := typed("of", "turns", "arbor", "4", "number", "10", "within", "1", "seconds", "600", "within_s", "1", "rate",
			"300", "train", "80:10,75:10,80:8,15")
		for i := 0; i+1 < len(more); i += 2 {
			v.Set(more[i], more[i+1])
		}
		return v
	}
	refuses(bench, t, "counting", count("train", ""), "train", "Give the train")
	refuses(bench, t, "counting", count("train", "80:10,75:5,80:8,15"), "train", "5 leaves")
	refuses(bench, t, "counting", count("arbor", "6"), "arbor", "no such arbor")
	refuses(bench, t, "counting", count("number", "many"), "number", "such as 300")
	refuses(bench, t, "counting", count("number", "0"), "number", "above 0")
	refuses(bench, t, "counting", count("within", "10"), "within", "count longer")
	refuses(bench, t, "counting", count("seconds", "-5"), "seconds", "above 0 s")
	refuses(bench, t, "counting", count("rate", "9000"), "rate", "8640")
}

func TestTrainToolsFillFromTheCalibre(t *testing.T) {
	t.Parallel()
	c := watch.Calibre{Name: "R 12", GradeKey: "modern", BeatsPerHour: 18000, Train: "80:10,75:10,80:8,15 seconds=centre",
		MotionWork: "12:48,10:60", DialHours: 24}
	for _, tt := range []struct {
		tool toolset.Tool
		want url.Values
	}{
		{toolset.TrainTool(), typed("train", c.Train, "beats_per_hour", "18000")},
		{toolset.MotionWorkTool(), typed("cannon", "12", "minute_wheel", "48", "minute_pinion", "10", "hour_wheel", "60",
			"dial_hours", "24")},
		{toolset.CountingTool(), typed("train", c.Train, "beats_per_hour", "18000")},
	} {
		if got := tt.tool.Fill(c); got.Encode() != tt.want.Encode() {
			t.Errorf("%s: %v, want %v", tt.tool.Slug, got, tt.want)
		}
		start, _ := tt.tool.Start(&c)
		if tt.tool.Slug == "counting" {
			continue // a count is never filled in
		}
		answer, bad := tt.tool.Solve(start)
		if len(bad) > 0 || answer.Drawing == nil || answer.Finding == "" {
			t.Errorf("%s: %v", tt.tool.Slug, bad)
		}
		if _, problems := c.Correct(answer.Correction); len(problems) > 0 {
			t.Errorf("%s corrects %v: %v", tt.tool.Slug, answer.Correction, problems)
		}
	}
	if got := toolset.TrainTool().Fill(watch.Calibre{}); len(got) != 0 {
		t.Errorf("an unknown calibre fills %v", got)
	}
	found, _ := toolset.MotionWorkTool().Solve(typed("cannon", "16", "minute_wheel", "42", "hour_wheel", "64"))
	if found.Part == nil || found.Part.Words() != "Minute pinion, 14 leaves, meshes with the hour wheel of 64" {
		t.Errorf("part %+v", found.Part)
	}
}

// From a docket, what was found is kept where it is used: the count of a train as a finding, the missing pinion as a
// part.
func TestTrainAnswersAreKeptWithTheDocket(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.Noted()
	bench := s.As(s.Watchmaker)
	at := "/dockets/" + number + "/bench/"
	mispaired := typed("train", "80:12,60:10,60:8,15", "graduations", "60") // a published mistake, see domain/train
	bench.Get(at + "train?" + mispaired.Encode()).Want(http.StatusOK).One("keep-form-finding")
	bench.Post(at+"train/keep", webtest.KeptForm("finding", mispaired, "finding.component", "train", "finding.severity",
		"require")).Want(http.StatusSeeOther)
	if kept := s.Findings(number); len(kept) != 1 || !strings.Contains(kept[0], "gives 9000 beats per hour") {
		t.Errorf("kept %q", kept)
	}

	lost := typed("cannon", "16", "minute_wheel", "42", "minute_pinion", "", "hour_wheel", "64", "dial_hours", "12")
	bench.Get(at + "motion-work?" + lost.Encode()).Want(http.StatusOK).One("keep-form-part")
	bench.Post(at+"motion-work/keep", webtest.KeptForm("part", lost, "part.quantity", "1")).Want(http.StatusSeeOther)
	if parts := webtest.TextOf(bench.Get("/dockets/" + number +
		"/parts").Want(http.StatusOK).Document); !strings.Contains(parts,
		"Minute pinion, 14 leaves, meshes with the hour wheel of 64") {
		t.Errorf("the parts say %s", parts)
	}
	count := typed("of", "ticks", "number", "300", "within", "1", "seconds", "60", "within_s", "1", "rate", "300")
	bench.Get(at + "counting?" + count.Encode()).Want(http.StatusOK).One("keep-form-finding")
	journal := webtest.TextOf(bench.Get("/dockets/" + number + "/journal").Want(http.StatusOK).Document)
	for _, want := range []string{"Wheel train: kept as a finding", "Motion work: kept as a part", "80:12,60:10,60:8,15",
		"Cannon pinion: 16 leaves", "14 leaves"} {
		if !strings.Contains(journal, want) {
			t.Errorf("the journal lacks %q", want)
		}
	}
}
