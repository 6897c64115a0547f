package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ledgerwheel/domain/watch"
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
func (c *client) answers(t *testing.T, slug string, v url.Values, says ...string) {
	t.Helper()
	page := c.get("/bench/" + slug + "?" + v.Encode()).want(http.StatusOK)
	said := page.text("bench-answer")
	for _, want := range says {
		if !strings.Contains(said, want) {
			t.Errorf("%s %v: no %q in %s", slug, v, want, said)
		}
	}
}

// refuses asks a tool what it should refuse beside a field.
func (c *client) refuses(t *testing.T, slug string, v url.Values, field, says string) {
	t.Helper()
	page := c.get("/bench/" + slug + "?" + v.Encode()).want(http.StatusUnprocessableEntity)
	if got := page.problem(field); !strings.Contains(got, says) {
		t.Errorf("%s %v: beside %s stands %q, want %q", slug, v, field, got, says)
	}
	if want := v.Get(field); want != "" && page.one(field).Data == "input" && page.value(field) != want {
		t.Errorf("%s keeps %q of %s as %q", slug, want, field, page.value(field))
	}
}

// The counts are those of published trains (see domain/train's check rows).
func TestTrainTool(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	bench := s.as(s.watchmaker)
	usual := "80:10,75:10,80:8,15"
	bench.answers(t, "train", typed("train", usual, "graduations", "300", "beats_per_hour", "18 000"),
		"18000", "as it should", "2.5 Hz", "one turn in 60 s", "7 min 30 s", "anticlockwise", "of a track of 300", "fourth: pinion 10, wheel 80 60 turns per hour")
	bench.answers(t, "train", typed("wheel_1", "80", "pinion_1", "10", "wheel_2", "75", "pinion_2", "10", "wheel_3", "84", "pinion_3", "7", "escape", "20",
		"seconds", "centre"), "28800", "4 Hz", "centre-seconds, direct", "80:10,75:10,84:7,20 seconds=centre")
	bench.answers(t, "train", typed("train", "72:8,72:9,50:6,15", "beats_per_hour", "21600"), "not 21600", "It should give 21600", "turns 72 times an hour, not 60")
	bench.answers(t, "train", typed("train", usual, "seconds", "indirect", "seconds_drive", "3/75:10"), "seconds pinion of 10, driven from the third arbor")
	bench.answers(t, "train", typed("train", usual, "minute_drive", "2/12:36:12"), "cannon pinion of 12", "second")
	bench.answers(t, "train", typed("train", usual, "seconds", "none"), "Seconds hand none")

	bench.refuses(t, "train", typed("train", ""), "train", "in one line, or count by count")
	bench.refuses(t, "train", typed("train", "80:10,75:5,80:8,15"), "train", "The fourth pinion has 5 leaves")
	bench.refuses(t, "train", typed("train", usual, "escape", "15"), "train", "not both")
	bench.refuses(t, "train", typed("wheel_1", "80", "pinion_1", "0", "escape", "15"), "pinion_1", "no count of 0")
	bench.refuses(t, "train", typed("wheel_1", "-80", "pinion_1", "10", "escape", "15"), "wheel_1", "not negative")
	bench.refuses(t, "train", typed("wheel_1", "80.5", "pinion_1", "10", "escape", "15"), "wheel_1", "Teeth are whole")
	bench.refuses(t, "train", typed("wheel_1", "300", "pinion_1", "10", "escape", "15"), "wheel_1", "from 20 to 200 are practical")
	bench.refuses(t, "train", typed("train", usual, "seconds", "indirect"), "seconds_drive", "Give what drives the seconds hand")
	bench.refuses(t, "train", typed("train", usual, "seconds", "centre", "seconds_drive", "3/75:10"), "seconds_drive", "Only an indirect")
	bench.refuses(t, "train", typed("train", usual, "seconds_drive", "9/75:10"), "seconds_drive", "no ninth arbor")
	bench.refuses(t, "train", typed("train", usual, "minute_drive", "60:12"), "minute_drive", "Write the minute hand")
	bench.refuses(t, "train", typed("train", usual, "graduations", "0"), "graduations", "from 1 to 3600")
	bench.refuses(t, "train", typed("train", usual, "beats_per_hour", "fast"), "beats_per_hour", "above 0")
}

func TestMotionWorkTool(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	bench := s.as(s.watchmaker)
	bench.answers(t, "motion-work", typed("cannon", "12", "minute_wheel", "36", "minute_pinion", "10", "hour_wheel", "40", "dial_hours", "12", "hands_at", "7:30"),
		"12:36,10:40", "Minute hand stands at 180°", "Hour hand stands at 225°")
	// The coursework's motion work whose question has 42 teeth: 14 leaves.
	bench.answers(t, "motion-work", typed("cannon", "16", "minute_wheel", "42", "minute_pinion", "", "hour_wheel", "64", "dial_hours", "12"),
		"The minute pinion needs 14 leaves", "found from the other three")
	bench.answers(t, "motion-work", typed("cannon", "12", "minute_wheel", "48", "minute_pinion", "10", "hour_wheel", "60", "dial_hours", "24"), "12:48,10:60", "24")
	bench.answers(t, "motion-work", typed("cannon", "12", "minute_wheel", "48", "minute_pinion", "10", "hour_wheel", "60", "dial_hours", "12"),
		"for a dial of 24 hours, not 12", "the hands don’t keep together", "30 min", "behind")

	bench.refuses(t, "motion-work", typed("cannon", "16", "minute_wheel", "50", "hour_wheel", "64"), "minute_pinion", "it would be 16 2/3")
	bench.refuses(t, "motion-work", typed("cannon", "16", "minute_wheel", "48"), "hour_wheel", "only one count empty")
	bench.refuses(t, "motion-work", typed("cannon", "5", "minute_wheel", "36", "minute_pinion", "10", "hour_wheel", "40"), "cannon", "5 leaves")
	bench.refuses(t, "motion-work", typed("cannon", "12", "minute_wheel", "0", "minute_pinion", "10", "hour_wheel", "40"), "minute_wheel", "no count of 0")
	bench.refuses(t, "motion-work", typed("cannon", "12", "minute_wheel", "36:1", "minute_pinion", "10", "hour_wheel", "40"), "minute_wheel", "")
	bench.refuses(t, "motion-work", typed("cannon", "12", "minute_wheel", "36", "minute_pinion", "10", "hour_wheel", "40", "hands_at", "7:60"), "hands_at", "such as 7:30")
}

func TestCountingTool(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	bench := s.as(s.watchmaker)
	// 330 in a minute are 19800 an hour; u by hand: 19800/√3 · √((2/330)² + (1/60)²) = 202.7, twice that 405, to two digits 410.
	bench.answers(t, "counting", typed("of", "ticks", "number", "330", "within", "2", "seconds", "60", "within_s", "1", "rate", "300", "beats_per_hour", "18000"),
		"19800 ± 410 beats per hour", "allows 19800", "doesn’t allow it")
	bench.answers(t, "counting", typed("of", "ticks", "number", "50", "within", "2", "seconds", "10", "within_s", "1", "rate", "300"), "16200, 18000, 19800", "count for longer")
	bench.answers(t, "counting", typed("of", "turns", "arbor", "4", "number", "10", "within", "0,1", "seconds", "600", "within_s", "0.5", "rate", "300",
		"train", "80:10,75:10,80:8,15", "beats_per_hour", "18000"), "10 turns of the fourth wheel", "allows 18000", "The beat by the train 18000 the count allows it")
	bench.answers(t, "counting", typed("of", "teeth", "arbor", "2", "number", "4", "within", "0.1", "seconds", "180", "within_s", "0.5", "rate", "0",
		"train", "80:10,75:10,80:8,15"), "4 teeth of the centre wheel")

	count := func(more ...string) url.Values {
		v := typed("of", "turns", "arbor", "4", "number", "10", "within", "1", "seconds", "600", "within_s", "1", "rate", "300", "train", "80:10,75:10,80:8,15")
		for i := 0; i+1 < len(more); i += 2 {
			v.Set(more[i], more[i+1])
		}
		return v
	}
	bench.refuses(t, "counting", count("train", ""), "train", "Give the train")
	bench.refuses(t, "counting", count("train", "80:10,75:5,80:8,15"), "train", "5 leaves")
	bench.refuses(t, "counting", count("arbor", "6"), "arbor", "no such arbor")
	bench.refuses(t, "counting", count("number", "many"), "number", "such as 300")
	bench.refuses(t, "counting", count("number", "0"), "number", "above 0")
	bench.refuses(t, "counting", count("within", "10"), "within", "count longer")
	bench.refuses(t, "counting", count("seconds", "-5"), "seconds", "above 0 s")
	bench.refuses(t, "counting", count("rate", "9000"), "rate", "8640")
}

func TestTrainToolsFillFromTheCalibre(t *testing.T) {
	t.Parallel()
	c := watch.Calibre{Name: "R 12", GradeKey: "modern", BeatsPerHour: 18000, Train: "80:10,75:10,80:8,15 seconds=centre", MotionWork: "12:48,10:60", DialHours: 24}
	for _, tt := range []struct {
		tool benchTool
		want url.Values
	}{
		{trainTool(), typed("train", c.Train, "beats_per_hour", "18000")},
		{motionWorkTool(), typed("cannon", "12", "minute_wheel", "48", "minute_pinion", "10", "hour_wheel", "60", "dial_hours", "24")},
		{countingTool(), typed("train", c.Train, "beats_per_hour", "18000")},
	} {
		if got := tt.tool.Fill(c); got.Encode() != tt.want.Encode() {
			t.Errorf("%s: %v, want %v", tt.tool.Slug, got, tt.want)
		}
		start, _ := tt.tool.start(&c)
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
	if got := trainTool().Fill(watch.Calibre{}); len(got) != 0 {
		t.Errorf("an unknown calibre fills %v", got)
	}
	found, _ := motionWorkTool().Solve(typed("cannon", "16", "minute_wheel", "42", "hour_wheel", "64"))
	if found.Part == nil || found.Part.words() != "Minute pinion, 14 leaves, meshes with the hour wheel of 64" {
		t.Errorf("part %+v", found.Part)
	}
}

// From a docket, what was found is kept where it is used: the count of a train as a finding, the missing pinion as a part.
func TestTrainAnswersAreKeptWithTheDocket(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.noted()
	bench := s.as(s.watchmaker)
	at := "/dockets/" + number + "/bench/"
	mispaired := typed("train", "80:12,60:10,60:8,15", "graduations", "60") // a published mistake, see domain/train
	bench.get(at + "train?" + mispaired.Encode()).want(http.StatusOK).one("keep-form-finding")
	bench.post(at+"train/keep", keptForm("finding", mispaired, "finding.component", "train", "finding.severity", "require")).want(http.StatusSeeOther)
	if kept := s.findings(number); len(kept) != 1 || !strings.Contains(kept[0], "gives 9000 beats per hour") {
		t.Errorf("kept %q", kept)
	}

	lost := typed("cannon", "16", "minute_wheel", "42", "minute_pinion", "", "hour_wheel", "64", "dial_hours", "12")
	bench.get(at + "motion-work?" + lost.Encode()).want(http.StatusOK).one("keep-form-part")
	bench.post(at+"motion-work/keep", keptForm("part", lost, "part.quantity", "1")).want(http.StatusSeeOther)
	if parts := textOf(bench.get("/dockets/" + number + "/parts").want(http.StatusOK).document); !strings.Contains(parts, "Minute pinion, 14 leaves, meshes with the hour wheel of 64") {
		t.Errorf("the parts say %s", parts)
	}
	count := typed("of", "ticks", "number", "300", "within", "1", "seconds", "60", "within_s", "1", "rate", "300")
	bench.get(at + "counting?" + count.Encode()).want(http.StatusOK).one("keep-form-finding")
	journal := textOf(bench.get("/dockets/" + number + "/journal").want(http.StatusOK).document)
	for _, want := range []string{"Wheel train: kept as a finding", "Motion work: kept as a part", "80:12,60:10,60:8,15", "Cannon pinion: 16 leaves", "14 leaves"} {
		if !strings.Contains(journal, want) {
			t.Errorf("the journal lacks %q", want)
		}
	}
}
