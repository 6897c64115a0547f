package staff_test

import (
	"net/url"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/pquerna/otp"
	"github.com/pquerna/otp/hotp"

	"ledgerwheel/domain/staff"
)

// RFC 6238, appendix B: unix time, step in hexadecimal, and the codes of eight digits by SHA-1, SHA-256 and SHA-512.
var rfc6238 = []struct {
	unix                 int64
	step                 string
	sha1, sha256, sha512 string
}{
	{59, "0000000000000001", "94287082", "46119246", "90693936"},
	{1111111109, "00000000023523EC", "07081804", "68084774", "25091201"},
	{1111111111, "00000000023523ED", "14050471", "67062674", "99943326"},
	{1234567890, "000000000273EF07", "89005924", "91819424", "93441116"},
	{2000000000, "0000000003F940AA", "69279037", "90698825", "38618901"},
	{20000000000, "0000000027BC86AA", "65353130", "77737706", "47863826"},
}

const rfcSecret = "12345678901234567890"

// TestCodesAreThoseOfRFC6238: a code of six digits is the last six of the eight that the RFC prints, since both are the
// same number modulo a power of ten (RFC 4226, section 5.3).
func TestCodesAreThoseOfRFC6238(t *testing.T) {
	t.Parallel()
	for _, v := range rfc6238 {
		at := time.Unix(v.unix, 0)
		step, err := strconv.ParseInt(v.step, 16, 64)
		if err != nil || staff.StepOf(at) != step {
			t.Errorf("step of %d: %d, want %d", v.unix, staff.StepOf(at), step)
		}
		if got, ok := staff.MatchCode([]byte(rfcSecret), v.sha1[2:], at, 0); !ok || got != step {
			t.Errorf("at %d code %s is not taken", v.unix, v.sha1[2:])
		}
		for _, other := range []string{v.sha256[2:], v.sha512[2:], "000000", v.sha1[:6], v.sha1} {
			if _, ok := staff.MatchCode([]byte(rfcSecret), other, at, 0); ok {
				t.Errorf("at %d code %s is taken", v.unix, other)
			}
		}
	}
}

// TestTheLibraryKnowsRFC6238 holds what makes our codes to all eighteen codes of the RFC.
func TestTheLibraryKnowsRFC6238(t *testing.T) {
	t.Parallel()
	secrets := map[otp.Algorithm]string{otp.AlgorithmSHA1: "GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ",
		otp.AlgorithmSHA256: "GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQGEZA",
		otp.AlgorithmSHA512: "GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQGEZDGNA"}
	for _, v := range rfc6238 {
		for algorithm, want := range map[otp.Algorithm]string{otp.AlgorithmSHA1: v.sha1, otp.AlgorithmSHA256: v.sha256,
			otp.AlgorithmSHA512: v.sha512} {
			got, err := hotp.GenerateCodeCustom(secrets[algorithm], uint64(staff.StepOf(time.Unix(v.unix, 0))),
				hotp.ValidateOpts{Digits: otp.DigitsEight, Algorithm: algorithm})
			if err != nil || got != want {
				t.Errorf("%s at %d: %s, want %s (%v)", algorithm, v.unix, got, want, err)
			}
		}
	}
}

func TestACodeIsTakenOnceAndNotLater(t *testing.T) {
	t.Parallel()
	v := rfc6238[1]
	at, code := time.Unix(v.unix, 0), v.sha1[2:]
	step, ok := staff.MatchCode([]byte(rfcSecret), " "+code[:3]+"\u00a0"+code[3:]+"\n", at, 0)
	if !ok {
		t.Fatal("a code with spaces is not taken")
	}
	if _, ok := staff.MatchCode([]byte(rfcSecret), code, at, step); ok {
		t.Error("a code is taken twice")
	}
	if _, ok := staff.MatchCode([]byte(rfcSecret), code, at, step+1); ok {
		t.Error("a code from before the last one is taken")
	}
	for late, want := range map[time.Duration]bool{-31 * time.Second: true, 30 * time.Second: true, 90 * time.Second: false, -90 * time.Second: false} {
		if _, ok := staff.MatchCode([]byte(rfcSecret), code, at.Add(late), 0); ok != want {
			t.Errorf("%v late: taken %v, want %v", late, ok, want)
		}
	}
}

func TestRecoveryCodes(t *testing.T) {
	t.Parallel()
	code := staff.RecoveryCode([]byte{0, 0x44, 0x32, 0x14, 0xc7, 0x42, 0x54, 0xb6, 0x35, 0xcf})
	if code != "0123-4567-89ab-cdef" {
		t.Errorf("code %q", code)
	}
	if made := staff.RecoveryCode(make([]byte, staff.RecoveryBytes)); 8*staff.RecoveryBytes < 128 || len(made) != 7*4+6 {
		t.Errorf("%d bytes of chance make %q", staff.RecoveryBytes, made)
	}
	want := staff.RecoveryHash(7, code)
	for _, typed := range []string{"0123456789ABCDEF", " o1 23-4567 89ab cdef", "Oi23 4567 89AB CDEF", "0l23-4567-89ab-cdef"} {
		if staff.RecoveryHash(7, typed) != want {
			t.Errorf("%q is another code", typed)
		}
	}
	if staff.RecoveryHash(8, code) == want || staff.RecoveryHash(7, "0123-4567-89ab-cdeg") == want {
		t.Error("another person's code, or another code, has the same hash")
	}
	for typed, want := range map[string]bool{"123 456": true, "123456": true, "1234567": false, "12345a": false, code: false, "": false} {
		if staff.LooksLikeCode(typed) != want {
			t.Errorf("%q looks like a code of an app: %v", typed, !want)
		}
	}
}

func TestAppURI(t *testing.T) {
	t.Parallel()
	uri := staff.AppURI([]byte(rfcSecret), "Tern: Quay & Søn", "zoe@ternquay.example")
	u, err := url.Parse(uri)
	if err != nil {
		t.Fatal(err)
	}
	q := u.Query()
	if u.Scheme != "otpauth" || u.Host != "totp" || u.Path != "/Tern  Quay & Søn:zoe@ternquay.example" ||
		q.Get("secret") != "GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ" || q.Get("issuer") != "Tern  Quay & Søn" || q.Get("digits") != "6" ||
		q.Get("period") != "30" || strings.Contains(uri, "+") {
		t.Errorf("%s", uri)
	}
	key, err := otp.NewKeyFromURL(uri)
	if err != nil || key.Secret() != q.Get("secret") || key.AccountName() != "zoe@ternquay.example" {
		t.Errorf("another reader of such addresses takes it for %v, %v", key, err)
	}
	if got := staff.AppSecretText([]byte(rfcSecret)); got != "GEZD GNBV GY3T QOJQ GEZD GNBV GY3T QOJQ" {
		t.Errorf("secret for typing: %q", got)
	}
}

func TestWhomTheShopAsks(t *testing.T) {
	t.Parallel()
	for whom, want := range map[string]string{"nobody": "", "owners": "owner", "all": "owner watchmaker clerk"} {
		for _, role := range staff.Roles() {
			if got := staff.SecondAsked(whom, role); got != strings.Contains(want, string(role)) {
				t.Errorf("%s asks the %s: %v", whom, role, got)
			}
		}
		if staff.SecondProblem(whom) != "" {
			t.Errorf("%q can't be chosen", whom)
		}
	}
	if staff.SecondProblem("some") == "" || staff.PasskeyNameProblem("") == "" || staff.PasskeyNameProblem("Tablet") != "" {
		t.Error("wrong choices pass, or right ones don't")
	}
}
