package page

import (
	"context"
	"encoding/hex"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"time"

	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/web/view"
)

// sureField carries, on the page that asks once more, what the answer was given for.
const sureField = "sure_of"

// Proof is what somebody answers who is asked again who they are: one of the three.
type Proof struct{ Password, Code, Passkey string }

// Given reports whether anything was answered.
func (p Proof) Given() bool { return p != Proof{} }

// Prover tells whether whoever sits there is still the person signed in.
type Prover interface {
	// ProofAsked says by what the person signed in can answer.
	ProofAsked(r *http.Request) (view.ProofView, error)
	// Proves reports whether the answer is right, and otherwise says why not. Wrong answers are counted: over says that
	// the session has ended by them.
	Proves(r *http.Request, proof Proof) (ok bool, why string, over bool, err error)
}

// Proved notes when the person signed in last said who they are.
func (s *Host) Proved(ctx context.Context, at time.Time) {
	s.Sessions.Put(ctx, sessionProven, at.Unix())
}

// freshlyProven reports whether the person said who they are not long ago.
func (s *Host) freshlyProven(r *http.Request) bool {
	at := time.Unix(s.Sessions.GetInt64(r.Context(), sessionProven), 0)
	return time.Since(at) < staff.ProvenFor
}

// Sure asks once more before something that can't be undone, on a page of its own that says what will happen, and
// reports whether that was answered with a yes. The yes counts only for what the form says now. With q.Prove the person
// also says again who they are, unless they did so not long ago. Where it reports false, the answer is written.
func (s *Host) Sure(w http.ResponseWriter, r *http.Request, f *Form, q view.SureView) (bool, error) {
	return s.askAgain(w, r, f, q, true)
}

// Proven has the person say again who they are before something that only they may do, unless they did so not long ago.
// What was typed into the form is kept. Where it reports false, the answer is written.
func (s *Host) Proven(w http.ResponseWriter, r *http.Request, f *Form, q view.SureView) (bool, error) {
	q.Prove = true
	return s.askAgain(w, r, f, q, false)
}

func (s *Host) askAgain(w http.ResponseWriter, r *http.Request, f *Form, q view.SureView, sure bool) (bool, error) {
	given, proof := f.Raw(sureField), takeProof(f.Values)
	f.Values.Del(sureField)
	sum := sumOf("sure", r.URL.RequestURI(), f.Values, nil)
	of := hex.EncodeToString(sum[:16])
	q.Sure = sure
	asked, why := q.Prove && !s.freshlyProven(r), ""
	if asked && proof.Given() {
		ok, wrong, over, err := s.Prover.Proves(r, proof)
		switch {
		case err != nil:
			return false, err
		case over:
			return false, s.outOfProofs(w, r, f.Values)
		case ok:
			s.Proved(r.Context(), time.Now())
			asked = false
		}
		why = wrong
	}
	if !asked && (!sure || given == of) {
		return true, nil
	}
	page, status := s.Page(r, q.Title), http.StatusOK
	if asked {
		ways, err := s.Prover.ProofAsked(r)
		if err != nil {
			return false, err
		}
		if ways.Problem = why; why != "" {
			status = http.StatusUnprocessableEntity
		}
		q.Proof = &ways
		page.Scripts = append(page.Scripts, "js/passkey.js")
	}
	q.Action, q.Back = r.URL.RequestURI(), withKept(pageOfForms(r), "")
	for _, name := range slices.Sorted(maps.Keys(f.Values)) {
		for _, value := range f.Values[name] {
			q.Fields = append(q.Fields, view.FieldValue{Name: name, Value: value})
		}
	}
	q.Fields = append(q.Fields, view.FieldValue{Name: sureField, Value: of})
	return false, Render(w, r, status, view.SurePage(page, q))
}

// takeProof takes the answer out of a form, so that it is shown to nobody again.
func takeProof(fields url.Values) Proof {
	p := Proof{fields.Get(view.ProofPassword), fields.Get(view.ProofCode), fields.Get(view.ProofPasskey)}
	for _, name := range proofFields {
		fields.Del(name)
	}
	return p
}

var proofFields = []string{view.ProofPassword, view.ProofCode, view.ProofPasskey, view.ProofWho}

// outOfProofs answers whose session ended by wrong answers: what they typed waits for them.
func (s *Host) outOfProofs(w http.ResponseWriter, r *http.Request, fields url.Values) error {
	v, _ := ViewerOf(r.Context())
	id, err := s.keep(r, store.KeptForm{StaffID: v.Member.ID, Why: store.KeptSignedOut, Page: pageOfForms(r), Fields: fields})
	if err != nil {
		return err
	}
	return SeeOther(w, r, "/sign-in?"+url.Values{keptQuery: {id}}.Encode())
}
