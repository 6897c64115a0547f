package web

import (
	"crypto/rand"
	"crypto/subtle"
	"errors"
	"fmt"
	"net"
	"net/http"
	"net/netip"
	"strings"
	"sync"
	"time"

	"github.com/alexedwards/argon2id"

	"ledgerwheel/domain"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/staff"
	"ledgerwheel/web/view"
)

// Attempts to sign in are bounded both for one machine and for one name, so that neither guessing many
// names nor guessing one from many machines gets far.
const (
	signInsPerMachine = 20 // in five minutes
	signInsPerName    = 8
	signInWindow      = 5 * time.Minute
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

func (s *Server) signInRoutes() []route {
	tooMany := bound{title: "Too many attempts", within: signInWindow,
		text: "Wait five minutes and try again. If you have forgotten your password, the owner can send you a link to set a new one."}
	machine, name := tooMany, tooMany
	machine.times, name.times = signInsPerMachine, signInsPerName
	perMachine, perName := s.perMachine(machine), s.perName(name)
	limited := func(h handler) handler { return perMachine(limitBody(perName(h))) }
	return []route{
		{"GET", "/sign-in", public, s.showSignIn},
		{"POST", "/sign-in", public, limited(s.signIn)},
		{"POST", "/sign-out", signedIn, s.signOut},
		{"GET", "/setup", public, s.showSetup},
		{"POST", "/setup", public, limited(s.setUp)},
		{"POST", "/theme", public, s.chooseTheme},
	}
}

func (s *Server) showSignIn(w http.ResponseWriter, r *http.Request) error {
	if _, ok := viewerOf(r.Context()); ok {
		return seeOther(w, r, "/")
	}
	if _, err := s.store.Shop(r.Context()); errors.Is(err, domain.ErrNotFound) {
		return seeOther(w, r, "/setup")
	} else if err != nil {
		return err
	}
	return s.renderSignIn(w, r, http.StatusOK, &form{Values: r.URL.Query(), Problems: map[string]string{}})
}

func (s *Server) renderSignIn(w http.ResponseWriter, r *http.Request, status int, f *form) error {
	return render(w, r, status, view.SignIn(s.plainPage(r, "Sign in"),
		view.SignInView{Form: f.view(), Next: localPath(f.Values.Get("next")), Demo: s.demo}))
}

// signIn starts a session. It never says which half was wrong, nor takes longer over one than the other.
func (s *Server) signIn(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	c, err := s.store.CredentialsOf(r.Context(), staff.NormalEmail(f.Text("email")))
	if err != nil && !errors.Is(err, domain.ErrNotFound) {
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
		s.log.Warn("sign-in refused", "id", requestIDOf(r.Context()), "from", r.RemoteAddr)
		f.Fail("password", "This e-mail address and password do not go together.")
		return s.renderSignIn(w, r, http.StatusUnprocessableEntity, f)
	}
	if err := s.begin(r.Context(), c.Member.ID, c.SessionEpoch); err != nil {
		return err
	}
	return seeOther(w, r, localPath(f.Text("next")))
}

func (s *Server) signOut(w http.ResponseWriter, r *http.Request) error {
	if err := s.sessions.Destroy(r.Context()); err != nil {
		return err
	}
	return seeOther(w, r, "/sign-in")
}

// localPath lets a form send people only to pages of this program.
func localPath(next string) string {
	if !strings.HasPrefix(next, "/") || strings.HasPrefix(next, "//") || strings.ContainsAny(next, "\\\r\n\t") {
		return "/"
	}
	return next
}

func (s *Server) showSetup(w http.ResponseWriter, r *http.Request) error {
	key := r.URL.Query().Get("key")
	if err := s.mayFound(r, key); errors.Is(err, errForbidden) {
		return s.askForSetupKey(w, r, key)
	} else if err != nil {
		return err
	}
	d := shop.Defaults()
	f := &form{Values: r.URL.Query(), Problems: map[string]string{}}
	f.Values.Set("time_zone", d.TimeZone)
	f.Values.Set("currency", d.Currency)
	f.Values.Set("phone_region", d.PhoneRegion)
	return render(w, r, http.StatusOK, view.Setup(s.plainPage(r, "Open the shop"), view.SetupView{Form: f.view()}))
}

// askForSetupKey answers somebody at another machine.
func (s *Server) askForSetupKey(w http.ResponseWriter, r *http.Request, typed string) error {
	f := emptyForm()
	f.Values.Set("key", typed)
	if typed != "" {
		f.Fail("key", "That is not the key that was printed at the start.")
	}
	return render(w, r, http.StatusForbidden, view.SetupKey(s.plainPage(r, "Open the shop"), view.SetupView{Form: f.view()}))
}

// mayFound admits whoever sits at the machine itself, or has the key that was printed where the program
// was started; nobody at all once there is a shop.
func (s *Server) mayFound(r *http.Request, key string) error {
	_, err := s.store.Shop(r.Context())
	switch {
	case err == nil:
		return domain.ErrNotFound
	case !errors.Is(err, domain.ErrNotFound):
		return err
	case fromThisMachine(r) || s.setupKey != "" && subtle.ConstantTimeCompare([]byte(key), []byte(s.setupKey)) == 1:
		return nil
	}
	return errForbidden
}

// fromThisMachine reports a request that came over the loopback and through no proxy.
func fromThisMachine(r *http.Request) bool {
	host, _, err := net.SplitHostPort(r.RemoteAddr)
	if err != nil || r.Header.Get("X-Forwarded-For") != "" || r.Header.Get("Forwarded") != "" {
		return false
	}
	addr, err := netip.ParseAddr(host)
	return err == nil && addr.IsLoopback()
}

func (s *Server) setUp(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	if err := s.mayFound(r, f.Text("key")); err != nil {
		return err
	}
	sh := shop.Defaults()
	sh.Name, sh.TimeZone = f.Text("shop_name"), f.Text("time_zone")
	sh.Currency, sh.PhoneRegion = strings.ToUpper(f.Text("currency")), strings.ToUpper(f.Text("phone_region"))
	sh.LinkSecret = newSecret()
	problems := sh.Problems()
	if why, bad := problems["name"]; bad {
		f.Fail("shop_name", why)
		delete(problems, "name")
	}
	f.FailAll(problems)
	owner := staff.Member{Name: staff.NormalName(f.Text("name")), Email: staff.NormalEmail(f.Text("email")), Role: staff.Owner}
	f.FailAll(owner.Problems())
	f.newPassword(owner)
	if !f.OK() {
		return render(w, r, http.StatusUnprocessableEntity, view.Setup(s.plainPage(r, "Open the shop"), view.SetupView{Form: f.view()}))
	}
	hash, err := HashPassword(f.Raw("password"))
	if err != nil {
		return err
	}
	id, err := s.store.Found(r.Context(), sh, owner, hash, s.now())
	if err != nil {
		return err
	}
	if err := s.begin(r.Context(), id, 0); err != nil {
		return err
	}
	return seeOther(w, r, "/")
}

func (s *Server) chooseTheme(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	http.SetCookie(w, &http.Cookie{Name: view.ThemeCookie, Value: string(view.ThemeOf(f.Text("theme"))), Path: "/",
		MaxAge: 365 * 24 * 3600, SameSite: http.SameSiteLaxMode, HttpOnly: true, Secure: s.sessions.Cookie.Secure})
	return seeOther(w, r, localPath(f.Text("back")))
}

// newSecret returns 32 random bytes.
func newSecret() []byte {
	b := make([]byte, 32)
	rand.Read(b) // never fails, see crypto/rand
	return b
}
