package outside

import (
	"log/slog"
	"net"
	"net/http"
	"net/url"
	"strings"
	"time"

	"ledgerwheel/web/page"
	"ledgerwheel/web/static"
	"ledgerwheel/web/view"
)

// The addresses on the unencrypted port besides the redirections.
const (
	TrustPath     = "/trust"
	authorityPath = "/trust/ledgerwheel-authority.crt"
)

// TrustMeaning says what trusting a local authority means, for pages and for the command line.
var TrustMeaning = []string{
	"A device that trusts the authority believes whoever holds the authority's key to be this machine. The key lies in " +
		"the program's data folder, readable by the program's user alone: guard that folder and its backups.",
	"The authority may vouch for local names and addresses and for this machine's own, and for no site of the " +
		"internet; its certificate says so and browsers enforce it. Still, trust it only on devices of the shop, and undo " +
		"it on a device that leaves the shop.",
	"With an authority or a certificate of your own instead (--tls-cert and --tls-key) none of this is needed.",
}

// TrustPlatforms says how a device is told to trust a local authority, by kind of device. The systems' own words
// change between their versions; these are as of 2026, from memory.
var TrustPlatforms = []trustPlatform{
	{Name: "Windows", ID: "windows",
		Steps: []string{
			"Open the file, choose Install Certificate, then Current User.",
			"Choose Place all certificates in the following store, Browse, Trusted Root Certification Authorities, and finish.",
			"Windows shows the fingerprint and asks whether to install: compare, then answer yes. Start the browser again.",
		},
		Undo: "run certmgr.msc, open Trusted Root Certification Authorities, Certificates, and delete the entry."},
	{Name: "macOS", ID: "macos",
		Steps: []string{
			"Open the file: Keychain Access adds it to the login keychain.",
			"Open its entry there, compare the fingerprint, open Trust, and set When using this certificate to Always Trust.",
		},
		Undo: "delete the entry in Keychain Access."},
	{Name: "iPhone and iPad", ID: "ios",
		Steps: []string{
			"Open the file in Safari and allow the profile to be loaded.",
			"In Settings, open Profile Downloaded, look at More Details, and install it.",
			"In Settings, General, About, Certificate Trust Settings, switch full trust on for it. Without this step it is not used.",
		},
		Undo: "Settings, General, VPN & Device Management: remove the profile."},
	{Name: "Android", ID: "android",
		Steps: []string{
			"Load the file. In Settings, look for CA certificate (under Security, Encryption and credentials, Install a " +
				"certificate), accept the warning, and choose the file.",
			"Android asks for a screen lock if there is none. Chrome then accepts the certificate; Firefox for Android keeps " +
				"to its own list unless its settings say to use the system's.",
		},
		Undo: "Settings, Trusted credentials, User: open the entry and remove it."},
	{Name: "Linux", ID: "linux",
		Steps: []string{
			"For Chromium and its kin: open chrome://certificate-manager, Local certificates, Custom, Trusted certificates, " +
				"and import the file; or run: certutil -d sql:$HOME/.pki/nssdb -A -t C,, -n ledgerwheel -i FILE",
			"For programs of the command line, on Debian and Ubuntu: sudo cp FILE " +
				"/usr/local/share/ca-certificates/ledgerwheel.crt && sudo update-ca-certificates",
		},
		Undo: "delete it in the same place; certutil -d sql:$HOME/.pki/nssdb -D -n ledgerwheel; sudo rm " +
			"/usr/local/share/ca-certificates/ledgerwheel.crt && sudo update-ca-certificates --fresh."},
	{Name: "Firefox, on any computer", ID: "firefox",
		Steps: []string{
			"Settings, Privacy & Security, Certificates, View Certificates, Authorities, Import.",
			"Tick only: Trust this CA to identify websites. View shows the fingerprint to compare.",
		},
		Undo: "in the same list choose the entry, Delete or Distrust."},
}

// UnencryptedConfig is what the port without TLS needs to know.
type UnencryptedConfig struct {
	// PublicURL is the https address at which customers reach the program, without a final slash.
	PublicURL string
	// Port is that of the listener with TLS.
	Port string
	// Authority is the local authority's certificate in PEM form; nil when the owner has certificates of their own.
	Authority         []byte
	Name, Fingerprint string
	Until             time.Time
	Log               *slog.Logger
}

// Unencrypted is the handler of the port without TLS. It leads to the one with TLS, and where that is under a local
// authority it hands out the authority's certificate. Nothing else is said there, and nothing is accepted.
func Unencrypted(c UnencryptedConfig) (http.Handler, error) {
	public, err := url.Parse(c.PublicURL)
	if err != nil {
		return nil, err
	}
	mux := http.NewServeMux()
	mux.HandleFunc("/", func(w http.ResponseWriter, r *http.Request) {
		if r.Method != http.MethodGet && r.Method != http.MethodHead {
			w.Header().Set("Allow", "GET, HEAD")
			http.Error(w, "Nothing may be sent here unencrypted. Use "+c.PublicURL, http.StatusMethodNotAllowed)
			return
		}
		// Not for ever: the shop may change its port.
		http.Redirect(w, r, secureBase(r, public, c.Port)+r.URL.RequestURI(), http.StatusTemporaryRedirect)
	})
	if c.Authority != nil {
		mux.Handle("GET "+static.Prefix, static.Handler())
		mux.HandleFunc("GET "+authorityPath, func(w http.ResponseWriter, _ *http.Request) {
			w.Header().Set("Content-Type", "application/x-x509-ca-cert")
			w.Header().Set("Content-Disposition", `attachment; filename="ledgerwheel-authority.crt"`)
			w.Write(c.Authority)
		})
		mux.HandleFunc("GET "+TrustPath, func(w http.ResponseWriter, r *http.Request) {
			v := trustView{Name: c.Name, Fingerprint: c.Fingerprint, Until: c.Until.UTC().Format("2 January 2006"),
				Download: authorityPath, Secure: secureBase(r, public, c.Port) + "/", Meaning: TrustMeaning,
				Platforms: TrustPlatforms}
			if err := page.Render(w, r, http.StatusOK, trust(view.Page{Outside: true, Title: "Trust this shop's certificate", Path: TrustPath},
				v)); err != nil {
				c.Log.Error("trust page", "error", err)
				http.Error(w, http.StatusText(http.StatusInternalServerError), http.StatusInternalServerError)
			}
		})
	}
	return page.RequestID(page.LogRequests(c.Log)(page.SecureHeaders(false)(page.Private(mux)))), nil
}

// secureBase is where the visitor finds the program with TLS: under the name by which they came, at its port.
func secureBase(r *http.Request, public *url.URL, port string) string {
	host := (&url.URL{Host: r.Host}).Hostname()
	switch {
	case host == "" || strings.ContainsAny(host, "/\\@?#% "):
		return public.Scheme + "://" + public.Host
	case strings.EqualFold(host, public.Hostname()):
		port = public.Port()
	case port == "443":
		port = ""
	}
	if port == "" {
		if strings.Contains(host, ":") {
			host = "[" + host + "]"
		}
		return "https://" + host
	}
	return "https://" + net.JoinHostPort(host, port)
}
