package office

import (
	"crypto/rand"
	"errors"
	"net/http"
	"strconv"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/staff"
	"ledgerwheel/web/page"
)

// Wrong answers are bounded for one machine and for one name, so that neither guessing many names nor guessing one from
// many machines gets far. A device on which the person signed in before has a bound of its own, whatever others guess: so
// nobody shuts another out. This is the way of the OWASP page on device cookies (common practice, from memory).
const (
	wrongPerMachine = 20 // in five minutes
	wrongPerName    = 8
	wrongPerDevice  = 8
	wrongWindow     = 5 * time.Minute
)

// doors are the bounds of wrong answers.
type doors struct{ machine, name, device *page.Guesses }

func newDoors() doors {
	bound := page.Bound{Title: "Too many attempts", Within: wrongWindow,
		Text: "Wait five minutes and try again. If you have forgotten your password, the owner can send you a link to set a new one."}
	of := func(times int) *page.Guesses {
		bound.Times = times
		return page.NewGuesses(bound)
	}
	return doors{machine: of(wrongPerMachine), name: of(wrongPerName), device: of(wrongPerDevice)}
}

// mayGuess reports whether somebody may try to be the person with this id, 0 for nobody known, and this name; see
// [page.Host.Guess].
func (s *Room) mayGuess(w http.ResponseWriter, r *http.Request, id int64, name string) (right func(), ok bool, err error) {
	device, known, err := s.knownDevice(r, id)
	if err != nil {
		return nil, false, err
	}
	guesses := []page.Guess{{Of: s.doors.device, Key: device}}
	if !known {
		guesses = []page.Guess{{Of: s.doors.machine, Key: s.ClientAddress(r)}}
		if name != "" {
			guesses = append(guesses, page.Guess{Of: s.doors.name, Key: name})
		}
	}
	right, ok = s.Guess(w, r, guesses...)
	return right, ok, nil
}

// deviceCookie is the name of the cookie by which a person's device is known. Several people may share a device.
func (s *Room) deviceCookie(id int64) string {
	return s.Sessions.Cookie.Name + "-known-" + strconv.FormatInt(id, 10)
}

// knownDevice is the name of the device on which the person signed in before, if this is one.
func (s *Room) knownDevice(r *http.Request, id int64) (name string, known bool, err error) {
	cookie, err := r.Cookie(s.deviceCookie(id))
	if id == 0 || err != nil {
		return "", false, nil
	}
	sh, err := s.store.Shop(r.Context())
	if errors.Is(err, domain.ErrNotFound) {
		return "", false, nil
	}
	if err != nil {
		return "", false, err
	}
	name, known = staff.KnownDevice(sh.LinkSecret, cookie.Value, id, s.Now())
	return name, known, nil
}

// knowDevice makes the device known on which somebody just signed in. One that is known keeps its name, so that signing in
// gives nobody a new bound.
func (s *Room) knowDevice(w http.ResponseWriter, r *http.Request, id int64) error {
	name, known, err := s.knownDevice(r, id)
	if err != nil {
		return err
	}
	if !known {
		name = rand.Text()
	}
	sh, err := s.store.Shop(r.Context())
	if err != nil {
		return err
	}
	http.SetCookie(w, &http.Cookie{Name: s.deviceCookie(id), Value: staff.DeviceToken(sh.LinkSecret, id, name, s.Now()),
		Path: "/", MaxAge: int(staff.DeviceKnownFor.Seconds()), SameSite: http.SameSiteLaxMode, HttpOnly: true,
		Secure: s.Sessions.Cookie.Secure})
	return nil
}
