package hearing

import (
	"cmp"
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"ledgerwheel/domain/heard"
	rules "ledgerwheel/domain/listening"
	"ledgerwheel/domain/recorder"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/timing"
	"ledgerwheel/store"
	"ledgerwheel/web/bench/hearing/listening"
	"ledgerwheel/web/page"
	"ledgerwheel/web/runs"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

const sessionGone = "What was heard is no longer here: the program holds it for five minutes after the page is " +
	"left. Listen again."

// keepHeard keeps what was heard as readings. Their figures are those of the program's own session; the form only names
// which.
func (s *Room) keepHeard(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.ChangeForm(w, r)
	if err != nil {
		return err
	}
	b, err := s.subjectOf(r)
	if err != nil {
		return err
	}
	session, takes := s.takesOf(r, f)
	run, why := b.chooseRun(r, f.Text("run"))
	if why != "" {
		f.Fail("run", why)
	}
	facts := s.answeredTakes(r, f, b, takes)
	if !f.OK() {
		return s.keepRefused(w, r, b, f)
	}
	kept := 0
	for i, t := range takes {
		if t.Kept { // sent twice
			again, _ := b.chooseRun(r, t.RunKey) // a take bears its run's id once it is kept
			run.id = again.id
			kept++
			continue
		}
		if err = s.keepTake(r, f, c, t, facts[i], &run); err != nil {
			break
		}
		session.MarkKept(t.Number, page.Itoa64(run.id))
		c.Version = 0 // the docket has moved on by ourselves
		kept++
	}
	if err == nil {
		return s.keptHeard(w, r, takes, run)
	}
	return s.Settle(w, r, sheet.Ending{Form: f, Change: c, Err: err, Closed: "run",
		Words: func() map[string]string { return map[string]string{"session": "", "take": "", "run": run.run.Title()} },
		Again: func(int) error { return s.keepRefused(w, r, b, f) }})
}

// takesOf finds what the form names in the person's own session.
func (s *Room) takesOf(r *http.Request, f *page.Form) (*listening.Session, []listening.Take) {
	owner, err := s.listener(r)
	session := s.hub.Find(owner, f.Text("session"))
	if err != nil || session == nil {
		f.Fail("", sessionGone)
		return nil, nil
	}
	var takes []listening.Take
	for _, typed := range f.Values["take"] {
		number, _ := strconv.Atoi(typed)
		t, found := session.Take(number)
		if !found {
			f.Fail("", sessionGone)
			return nil, nil
		}
		takes = append(takes, t)
	}
	if len(takes) == 0 {
		f.Fail("", "Tick what is to be kept: nothing was.")
	}
	return session, takes
}

// answeredTakes are the facts of each take, each asked about where it may be of another watch.
func (s *Room) answeredTakes(r *http.Request, f *page.Form, b subject, takes []listening.Take) []heard.Facts {
	var stated heard.Stated
	if b.sheet != nil {
		stated = statedOf(b.sheet.Head.Calibre)
	}
	facts := make([]heard.Facts, len(takes))
	for i, t := range takes {
		if facts[i] = t.Facts(); !t.Kept {
			facts[i] = s.answered(r, f, "right_watch", stated, facts[i])
		}
	}
	return facts
}

// keepTake keeps one take and notes the run it went to.
func (s *Room) keepTake(r *http.Request, f *page.Form, c store.Change, t listening.Take, facts heard.Facts, run *runChoice) error {
	in := store.HeardReading{RunID: run.id, Kind: run.run.Kind, Reading: t.Reading(c.By.Name),
		Facts: facts, Result: &t.Result}
	if f.Checked("keep_sound") {
		wav, _, err := t.Sound()
		if err != nil {
			return err
		}
		if wav != nil {
			if in.Facts.Sound, err = s.Uploads.PutSound(wav); err != nil {
				return err
			}
		}
	}
	id, err := s.store.KeepHeard(r.Context(), c, in)
	if err == nil {
		run.id = id
	}
	return err
}

// asked reports whether the page's script sent the form and stays where it is.
func askedForJSON(r *http.Request) bool {
	return strings.Contains(r.Header.Get("Accept"), "application/json")
}

func sendJSON(w http.ResponseWriter, status int, v any) error {
	w.Header().Set("Content-Type", "application/json; charset=utf-8")
	w.WriteHeader(status)
	return json.NewEncoder(w).Encode(v)
}

func (s *Room) keepRefused(w http.ResponseWriter, r *http.Request, b subject, f *page.Form) error {
	if !askedForJSON(r) {
		typed := s.listenForm(r, b)
		typed.FailAll(f.Problems)
		return s.renderListen(w, r, http.StatusUnprocessableEntity, b, typed)
	}
	why := f.Problems[""]
	for _, text := range f.Problems {
		why = cmp.Or(why, text)
	}
	if f.Problems["right_watch"] != "" { // nothing is wrong with what was sent: a person is asked
		return sendJSON(w, http.StatusOK, map[string]string{"problem": why, "ask": "right_watch"})
	}
	return sendJSON(w, http.StatusUnprocessableEntity, map[string]string{"problem": why})
}

// kept is what the page's script is told: the run as it is now, and what to listen to next.
type kept struct {
	Said     string `json:"said"`
	Run      string `json:"run"`
	RunTitle string `json:"run_title"`
	Version  string `json:"version"`
	Next     string `json:"next"`
	Href     string `json:"href"`
}

func (s *Room) keptHeard(w http.ResponseWriter, r *http.Request, takes []listening.Take, run runChoice) error {
	last := takes[len(takes)-1]
	next := rules.NextAfter(last.Position)
	said := fmt.Sprintf("Kept: %s.", keptWords(takes))
	n, err := page.PathNumber(r)
	if err != nil {
		return err
	}
	if !askedForJSON(r) {
		s.Say(r.Context(), said)
		query := url.Values{"run": {page.Itoa64(run.id)}, "position": {string(next)}, "hours": {timing.HoursText(last.Hours)}}
		return page.SeeOther(w, r, view.DocketURL(n.String(), "listen")+"?"+query.Encode())
	}
	sheet, err := s.store.RegulationSheet(r.Context(), n)
	if err != nil {
		return err
	}
	now, _ := sheet.Run(run.id)
	return sendJSON(w, http.StatusOK, kept{Said: said, Run: page.Itoa64(run.id),
		RunTitle: text.Capital(runs.Name(s.Host, r, now, sheet.Runs)),
		Version:  page.Itoa64(sheet.Head.Docket.Version), Next: string(next),
		Href: view.DocketURL(n.String(), "regulation") + "?run=" + page.Itoa64(run.id) + "#run"})
}

func keptWords(takes []listening.Take) string {
	var words []string
	for _, t := range takes {
		words = append(words, fmt.Sprintf("%s, %s", t.Position, timing.StateWords(t.Hours)))
	}
	return strings.Join(words, "; ")
}

// keepClock keeps what a long session says of its recorder's clock.
func (s *Room) keepClock(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	b, err := s.subjectOf(r)
	if err != nil {
		return err
	}
	owner, err := s.listener(r)
	if err != nil {
		return err
	}
	session := s.hub.Find(owner, f.Text("session"))
	from, why := s.source(b, f.Text("recorder"))
	switch {
	case session == nil:
		f.Fail("", sessionGone)
	case why != "":
		f.Fail("recorder", why)
	case from.RecorderID == 0:
		f.Fail("recorder", "Put the recorder on the list first; a clock belongs to one.")
	default:
		s.calibrate(r, f, session, from.RecorderID)
	}
	if !f.OK() {
		return s.keepRefused(w, r, b, f)
	}
	said := "The recorder’s clock is kept."
	if askedForJSON(r) {
		return sendJSON(w, http.StatusOK, kept{Said: said})
	}
	s.Say(r.Context(), said)
	return page.SeeOther(w, r, strings.TrimSuffix(r.URL.Path, "/clock"))
}

func (s *Room) calibrate(r *http.Request, f *page.Form, session *listening.Session, recorderID int64) {
	e, err := session.Clock()
	if err != nil {
		f.Fail("", text.Sentence(err.Error()))
		return
	}
	c := e.Calibration(recorder.ByServerClock, session.RateHz, s.Now())
	c.KeptAt = s.Now()
	c.ByID = page.Actor(r).StaffID
	if _, err := s.store.KeepCalibration(r.Context(), recorderID, c); err != nil && !f.Takes(err) {
		s.Log.Error("calibration", "id", page.RequestIDOf(r.Context()), "error", err)
		f.Fail("", "The calibration could not be kept. Try again in a moment.")
	}
}
