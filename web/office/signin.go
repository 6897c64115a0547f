package office

import (
	"crypto/rand"
	"crypto/subtle"
	"errors"
	"fmt"
	"net/http"
	"net/netip"
	"net/url"
	"strings"
	"sync"

	"github.com/alexedwards/argon2id"

	"ledgerwheel/domain"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/staff"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

// passwordCost follows the second recommended option of RFC 9106, section 4: 64 MiB of memory.
var passwordCost = argon2id.Params{Memory: 64 * 1024, Iterations: 3, Parallelism: 2, SaltLength: 16, KeyLength: 32}

// hashing bounds how much memory hashing takes when many sign in at once.
var hashing = make(chan struct{}, 4)

// HashPassword returns the form in which a password is kept.
func HashPassword(password string) (string, error) {
	hashing <- struct{}{}
	defer func() { <-hashing }()
	return argon2id.CreateHash(staff.NormalPassword(password), &passwordCost)
}

func passwordMatches(password, hash string) (bool, error) {
	hashing <- struct{}{}
	defer func() { <-hashing }()
	return argon2id.ComparePasswordAndHash(staff.NormalPassword(password), hash)
}

// decoyHash is compared when no such person exists, so that the answer takes as long as for one who does.
var decoyHash = sync.OnceValues(func() (string, error) { return HashPassword("no such person, no such word") })

func (s *Room) signInRoutes() []page.Route {
	return []page.Route{
		page.Get("/sign-in", page.Public, s.showSignIn),
		page.Post("/sign-in", page.Public, s.signIn),
		page.Get("/sign-in/second", page.Public, s.showSecond),
		page.Post("/sign-in/second", page.Public, s.second),
		page.Post("/sign-out", page.SignedIn, s.signOut),
		page.Get("/setup", page.Public, s.showSetup),
		page.Post("/setup", page.Public, s.setUp),
		page.Post("/theme", page.Public, s.chooseTheme),
	}
}

func (s *Room) showSignIn(w http.ResponseWriter, r *http.Request) error {
	if v, ok := page.ViewerOf(r.Context()); ok {
		return s.goOn(w, r, v.Member.ID, r.URL.Query())
	}
	if _, err := s.store.Shop(r.Context()); errors.Is(err, domain.ErrNotFound) {
		return page.SeeOther(w, r, "/setup")
	} else if err != nil {
		return err
	}
	return s.renderSignIn(w, r, http.StatusOK, &page.Form{Values: r.URL.Query(), Problems: map[string]string{}})
}

func (s *Room) renderSignIn(w http.ResponseWriter, r *http.Request, status int, f *page.Form) error {
	return page.Render(w, r, status, signIn(s.PlainPage(r, "Sign in"),
		signInView{Form: f.View(), Next: page.LocalPath(f.Values.Get("next")), Kept: f.Values.Get("kept"), Demo: s.Demo}))
}

// signIn starts a session. It never says which half was wrong, nor takes longer over one than the other.
func (s *Room) signIn(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	email := staff.NormalEmail(f.Text("email"))
	c, err := s.store.CredentialsOf(r.Context(), email)
	if err != nil && !errors.Is(err, domain.ErrNotFound) {
		return err
	}
	right, may, err := s.mayGuess(w, r, c.Member.ID, email)
	if err != nil || !may {
		return err
	}
	hash := c.PasswordHash
	if hash == "" {
		if hash, err = decoyHash(); err != nil {
			return err
		}
	}
	ok, err := passwordMatches(f.Raw("password"), hash)
	if err != nil {
		return fmt.Errorf("compare password: %w", err)
	}
	if !ok || c.PasswordHash == "" || c.Member.Disabled {
		s.Log.Warn("sign-in refused", "id", page.RequestIDOf(r.Context()), "from", s.ClientAddress(r))
		if err := s.store.NoteAccess(r.Context(), s.Access(r, c.Member.ID, staff.WrongPassword, "")); err != nil {
			return err
		}
		f.Fail("password", "This e-mail address and password do not go together.")
		return s.renderSignIn(w, r, http.StatusUnprocessableEntity, f)
	}
	right()
	return s.passwordRight(w, r, c, "with a password", f.Values)
}

// goOn leads somebody who is signed in to where they wanted to go, or to the form that waits for them.
func (s *Room) goOn(w http.ResponseWriter, r *http.Request, staffID int64, asked url.Values) error {
	to, err := s.AfterSignIn(r.Context(), staffID, asked.Get("next"), asked.Get("kept"))
	if err != nil {
		return err
	}
	return page.SeeOther(w, r, to)
}

func (s *Room) signOut(w http.ResponseWriter, r *http.Request) error {
	if err := s.EndSession(r.Context(), r, staff.SignedOut); err != nil {
		return err
	}
	return page.SeeOther(w, r, "/sign-in")
}

// begin starts the session of somebody who has shown who they are, and makes their device known; how completes "signed in".
func (s *Room) begin(w http.ResponseWriter, r *http.Request, id int64, epoch int, how string) error {
	if err := s.knowDevice(w, r, id); err != nil {
		return err
	}
	return s.Begin(r.Context(), id, epoch, s.Access(r, id, staff.SignedIn, how))
}

func (s *Room) showSetup(w http.ResponseWriter, r *http.Request) error {
	key := r.URL.Query().Get("key")
	may, answered, err := s.tryKey(w, r, key)
	if err != nil || answered {
		return err
	}
	if !may {
		return s.askForSetupKey(w, r, key)
	}
	d := shop.Defaults().Found(r.URL.Query().Get("time_zone"), r.URL.Query().Get("language"))
	f := page.EmptyForm()
	f.Values.Set("key", key)
	f.Values.Set("time_zone", d.TimeZone)
	f.Values.Set("currency", d.Currency)
	f.Values.Set("phone_region", d.PhoneRegion)
	f.Values.Set("locale", d.Locale)
	p := s.PlainPage(r, "Open the shop")
	p.Scripts = append(p.Scripts, "js/place.js")
	return page.Render(w, r, http.StatusOK, setup(p, setupView{Form: f.View(), Found: r.URL.Query().Has("time_zone")}))
}

// askForSetupKey answers somebody who may be at another machine.
func (s *Room) askForSetupKey(w http.ResponseWriter, r *http.Request, typed string) error {
	f := page.EmptyForm()
	f.Values.Set("key", typed)
	if typed != "" {
		f.Fail("key", "That is not the key that was printed at the start.")
	}
	return page.Render(w, r, http.StatusForbidden, setupKey(s.PlainPage(r, "Open the shop"), setupView{Form: f.View()}))
}

// mayFound admits whoever sits at the machine itself, or has the key that was printed where the program
// was started; nobody at all once there is a shop.
func (s *Room) mayFound(r *http.Request, key string) error {
	_, err := s.store.Shop(r.Context())
	switch {
	case err == nil:
		return domain.ErrNotFound
	case !errors.Is(err, domain.ErrNotFound):
		return err
	case s.openedHere(r) || s.setupKey != "" && subtle.ConstantTimeCompare([]byte(key), []byte(s.setupKey)) == 1:
		return nil
	}
	return page.ErrForbidden
}

// tryKey is [Room.mayFound] with wrong keys bounded; answered reports that there were too many, which is said.
func (s *Room) tryKey(w http.ResponseWriter, r *http.Request, key string) (may, answered bool, err error) {
	right := func() {}
	if key != "" {
		var ok bool
		if right, ok = s.Guess(w, r, page.Guess{Of: s.doors.machine, Key: s.ClientAddress(r)}); !ok {
			return false, true, nil
		}
	}
	err = s.mayFound(r, key)
	if errors.Is(err, page.ErrForbidden) {
		return false, false, nil
	}
	right()
	return err == nil, false, err
}

// openedHere reports a page that was opened on this machine, of a program that nobody elsewhere is told to reach.
func (s *Room) openedHere(r *http.Request) bool {
	public, err := url.Parse(s.PublicURL)
	if err != nil {
		return false
	}
	addr, err := netip.ParseAddr(public.Hostname())
	here := public.Hostname() == "localhost" || err == nil && addr.IsLoopback()
	return here && len(s.Proxies) == 0 && page.AtThisMachine(r)
}

func (s *Room) setUp(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	may, answered, err := s.tryKey(w, r, f.Text("key"))
	if err != nil || answered {
		return err
	}
	if !may {
		return s.askForSetupKey(w, r, f.Text("key"))
	}
	sh := shop.Defaults()
	sh.Name, sh.TimeZone = f.Text("shop_name"), f.Text("time_zone")
	sh.Currency, sh.PhoneRegion = strings.ToUpper(f.Text("currency")), strings.ToUpper(f.Text("phone_region"))
	if locale := f.Text("locale"); locale != "" {
		sh.Locale = locale
	}
	sh.LinkSecret = NewSecret()
	problems := sh.Problems()
	if why, bad := problems["name"]; bad {
		f.Fail("shop_name", why)
		delete(problems, "name")
	}
	f.FailAll(problems)
	owner := staff.Member{Name: staff.NormalName(f.Text("name")), Email: staff.NormalEmail(f.Text("email")),
		Role: staff.Owner}
	f.FailAll(owner.Problems())
	f.NewPassword(owner, sh.Name)
	if !f.OK() {
		return page.Render(w, r, http.StatusUnprocessableEntity, setup(s.PlainPage(r, "Open the shop"),
			setupView{Form: f.View()}))
	}
	hash, err := HashPassword(f.Raw("password"))
	if err != nil {
		return err
	}
	id, err := s.store.Found(r.Context(), sh, owner, hash, s.Now())
	if err != nil {
		return err
	}
	if err := s.begin(w, r, id, 0, "as the first owner"); err != nil {
		return err
	}
	return page.SeeOther(w, r, "/first-steps")
}

func (s *Room) chooseTheme(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	http.SetCookie(w, &http.Cookie{Name: s.CookieName(view.ThemeCookie), Value: string(view.ThemeOf(f.Text("theme"))), Path: "/",
		MaxAge: 365 * 24 * 3600, SameSite: http.SameSiteLaxMode, HttpOnly: true, Secure: s.Sessions.Cookie.Secure})
	return page.SeeOther(w, r, page.LocalPath(f.Text("back")))
}

// NewSecret returns 32 random bytes.
func NewSecret() []byte {
	b := make([]byte, 32)
	rand.Read(b) // never fails, see crypto/rand
	return b
}
