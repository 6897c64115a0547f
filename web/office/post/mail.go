package post

import (
	"errors"
	"net/http"
	"strconv"

	"ledgerwheel/domain"
	"ledgerwheel/domain/message"
	"ledgerwheel/store/keyring"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

func (s *Room) showMail(w http.ResponseWriter, r *http.Request) error {
	settings, version, err := s.store.MailSettings(r.Context())
	if err != nil {
		return err
	}
	viewer, _ := page.ViewerOf(r.Context())
	f := page.EmptyForm()
	if settings.Port == 0 {
		settings.Port = message.DefaultPort(settings.Security)
	}
	if version == 0 {
		settings.SenderName, settings.SenderAddress = viewer.Shop.Name, viewer.Shop.Email
	}
	for name, value := range map[string]string{"host": settings.Host, "port": strconv.Itoa(settings.Port), "security": string(settings.Security),
		"user": settings.User, "sender_name": settings.SenderName, "sender_address": settings.SenderAddress, "reply_to": settings.ReplyTo,
		"seals_to": settings.SealsTo, "version": strconv.FormatInt(version, 10)} {
		f.Values.Set(name, value)
	}
	return s.renderMail(w, r, http.StatusOK, f, nil)
}

// renderMail shows the settings with what waits, and what came of a test mail, if any.
func (s *Room) renderMail(w http.ResponseWriter, r *http.Request, status int, f *page.Form, tested *message.Tested) error {
	settings, version, err := s.store.MailSettings(r.Context())
	if err != nil {
		return err
	}
	waiting, err := s.store.MailWaiting(r.Context())
	if err != nil {
		return err
	}
	v := mailView{Form: f.View(), Securities: page.Options(message.Securities, message.Security.Words), Waiting: waiting.Waiting,
		Stranded: waiting.Stranded > 0, Said: waiting.Said, Saved: version > 0, Letters: s.letters != nil}
	if waiting.Waiting > 0 {
		v.Oldest = s.Moment(r, waiting.Oldest)
	}
	if waiting.Refused > 0 {
		v.Refused, v.RefusedSince = waiting.Refused, s.Moment(r, waiting.RefusedSince)
	}
	if s.carrier != nil {
		if given, ok := s.carrier.GivenServer(); ok {
			v.Given = given.Host
			settings.Server = given
		}
		v.Ready = settings.Ready()
	}
	v.Form.Values.Del("password") // it never goes back out
	_, v.Password, err = s.password(settings)
	if err != nil {
		v.PasswordLost = err.Error()
	}
	if tested != nil {
		v.Tested = stepsOf(*tested)
	}
	return page.Render(w, r, status, mailPage(s.Page(r, "Mail"), v))
}

func (s *Room) password(m message.Settings) (string, bool, error) {
	if keys := s.store.Keys(); keys != nil {
		return keys.Word(keyring.Mail, m.Server.Whom())
	}
	return "", false, nil
}

func readMail(f *page.Form) message.Settings {
	return message.Settings{Server: message.Server{Host: f.Text("host"), Port: f.Int("port"), Security: message.Security(f.Text("security")),
		User: f.Text("user")}, SenderName: f.Text("sender_name"), SenderAddress: f.Text("sender_address"), ReplyTo: f.Text("reply_to"),
		SealsTo: f.Text("seals_to")}.Tidied()
}

// saveMail keeps the settings, and the password beside them in the key ring: kept first, as it serves nobody but the account that it
// is kept for.
func (s *Room) saveMail(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	before, version, err := s.store.MailSettings(r.Context())
	if err != nil {
		return err
	}
	given := false
	if s.carrier != nil {
		_, given = s.carrier.GivenServer()
	}
	m := readMail(f)
	if given { // the server is not this page's to say
		m.Server = before.Server
		for _, name := range []string{"host", "port", "security", "user"} {
			delete(f.Problems, name)
		}
	}
	f.FailAll(m.Problems())
	if password := f.Raw("password"); f.OK() && !given {
		s.keepPassword(f, m, password)
	}
	if f.OK() {
		err = s.store.SaveMailSettings(r.Context(), m, f.ID("version"), page.Actor(r), s.Now())
	}
	switch {
	case errors.Is(err, domain.ErrChanged):
		f.Values.Set("version", strconv.FormatInt(version, 10))
		f.Fail("host", "Somebody else saved meanwhile. Saving again replaces what they wrote.")
		return s.renderMail(w, r, http.StatusConflict, f, nil)
	case err != nil && !f.Takes(err):
		return err
	case !f.OK():
		return s.renderMail(w, r, http.StatusUnprocessableEntity, f, nil)
	}
	if err := s.store.CarryAll(r.Context()); err != nil {
		return err
	}
	s.Say(r.Context(), "The settings of mail are saved. Send a test mail to see whether they work.")
	return page.SeeOther(w, r, "/mail")
}

// keepPassword keeps a password that was typed, and asks for it where the account is another than it was kept for.
func (s *Room) keepPassword(f *page.Form, m message.Settings, typed string) {
	keys := s.store.Keys()
	if keys == nil || m.User == "" || m.Host == "" {
		return
	}
	if typed != "" {
		if err := keys.KeepWord(keyring.Mail, m.Server.Whom(), typed); err != nil {
			f.Fail("password", "It could not be kept: "+err.Error())
		}
		return
	}
	if _, ok, err := keys.Word(keyring.Mail, m.Server.Whom()); err != nil || !ok {
		f.Fail("password", "Give the password of this user at this server.")
	}
}

// testMail sends a test mail by the settings as they are saved.
func (s *Room) testMail(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	to := f.Text("to")
	settings, version, err := s.store.MailSettings(r.Context())
	if err != nil {
		return err
	}
	shown := page.EmptyForm()
	for name, value := range map[string]string{"host": settings.Host, "port": strconv.Itoa(settings.Port), "security": string(settings.Security),
		"user": settings.User, "sender_name": settings.SenderName, "sender_address": settings.SenderAddress, "reply_to": settings.ReplyTo,
		"seals_to": settings.SealsTo, "version": strconv.FormatInt(version, 10), "to": to} {
		shown.Values.Set(name, value)
	}
	if !message.IsAddress(to) {
		shown.Fail("to", "Give an e-mail address such as name@example.org.")
		return s.renderMail(w, r, http.StatusUnprocessableEntity, shown, nil)
	}
	if s.carrier == nil {
		return domain.ErrNotFound
	}
	tested, err := s.carrier.Test(r.Context(), to)
	if err != nil {
		tested.Answer = message.Answer{Step: message.SignIn, Said: err.Error()}
	}
	return s.renderMail(w, r, http.StatusOK, shown, &tested)
}

// stepsOf are the steps of a test mail in words.
func stepsOf(t message.Tested) []stepView {
	var steps []stepView
	for _, d := range t.Done {
		steps = append(steps, stepView{Words: d.Step.Words(), Said: d.Said, Mark: view.Pass})
	}
	if !t.Answer.Taken {
		steps = append(steps, stepView{Words: t.Answer.Words(), Mark: view.Fail})
	}
	return steps
}
