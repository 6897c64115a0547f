package post

import (
	"net/http"
	"strconv"

	"github.com/go-chi/chi/v5"

	"ledgerwheel/domain"
	"ledgerwheel/store/post/letterbox"
	"ledgerwheel/web/page"
)

func (s *Room) showLetters(w http.ResponseWriter, r *http.Request) error {
	v := lettersView{Demo: s.letters != nil}
	if s.letters != nil {
		for _, l := range s.letters.Letters() {
			v.Letters = append(v.Letters, s.letterLine(r, l))
		}
	}
	return page.Render(w, r, http.StatusOK, lettersPage(s.Page(r, "Letters"), v))
}

func (s *Room) letterLine(r *http.Request, l letterbox.Letter) letterLine {
	return letterLine{Href: "/letters/" + strconv.Itoa(l.ID), At: s.Moment(r, l.At), To: l.To, Subject: l.Subject}
}

// letterOf is the letter that the address names.
func (s *Room) letterOf(r *http.Request) (letterbox.Letter, error) {
	id, err := page.PathID(r, "letter")
	if err != nil || s.letters == nil {
		return letterbox.Letter{}, domain.ErrNotFound
	}
	l, ok := s.letters.Letter(int(id))
	if !ok {
		return l, domain.ErrNotFound
	}
	return l, nil
}

// framing lets this page hold the letter's own, and nothing else in a frame.
const framing = "; frame-src 'self'"

func (s *Room) showLetter(w http.ResponseWriter, r *http.Request) error {
	l, err := s.letterOf(r)
	if err != nil {
		return err
	}
	v := letterView{letterLine: s.letterLine(r, l), From: l.From, Text: l.Text,
		Frame: "/letters/" + chi.URLParam(r, "letter") + "/html", Raw: "/letters/" + chi.URLParam(r, "letter") + "/letter.eml"}
	for _, name := range shownHeaders {
		if value := l.Header.Get(name); value != "" {
			v.Header = append(v.Header, headerLine{name, value})
		}
	}
	w.Header().Set("Content-Security-Policy", w.Header().Get("Content-Security-Policy")+framing)
	return page.Render(w, r, http.StatusOK, letterPage(s.Page(r, l.Subject), v))
}

// shownHeaders are those that tell something to who looks at a letter.
var shownHeaders = []string{"From", "Reply-To", "Date", "Message-Id", "Auto-Submitted", "List-Unsubscribe", "List-Unsubscribe-Post"}

// letterPolicy shows the letter as a mail program would: no script, no form, nothing fetched, within a frame of the program's own
// alone.
const letterPolicy = "default-src 'none'; style-src 'unsafe-inline'; form-action 'none'; base-uri 'none'; frame-ancestors 'self'; sandbox"

func (s *Room) showLetterPage(w http.ResponseWriter, r *http.Request) error {
	l, err := s.letterOf(r)
	if err != nil {
		return err
	}
	w.Header().Set("Content-Security-Policy", letterPolicy)
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	_, _ = w.Write([]byte(l.HTML)) // a reader that went away is no fault of ours
	return nil
}

// sendLetter sends the letter as it came over the line (RFC 5322), for mail programs and for who wants to see its every line.
func (s *Room) sendLetter(w http.ResponseWriter, r *http.Request) error {
	l, err := s.letterOf(r)
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "message/rfc822")
	w.Header().Set("Content-Disposition", `attachment; filename="letter-`+strconv.Itoa(l.ID)+`.eml"`)
	_, _ = w.Write(l.Raw) // a reader that went away is no fault of ours
	return nil
}
