package message_test

import (
	"net/url"
	"strings"
	"testing"

	"golang.org/x/net/html"
	"pgregory.net/rapid"

	"ledgerwheel/domain/message"
	"ledgerwheel/domain/tongue"
)

// values has something in every place.
func values(t message.Topic) message.Values {
	v := message.Values{}
	for _, p := range t.Placeholders() {
		v[p] = "«" + string(p) + "»"
	}
	v[message.PutLink] = "https://shop.example/c/abc"
	return v
}

// Every topic has words in every language; they can be kept as an owner's own could, and each says in every language what it
// says in the others: the same placeholders stand in it.
func TestUsualTemplates(t *testing.T) {
	t.Parallel()
	for _, topic := range message.Topics {
		for _, in := range tongue.All {
			tpl := message.Usual(topic, in)
			if bad := tpl.Problems(topic); len(bad) != 0 {
				t.Errorf("%s in %s: %v", topic, in.Words(), bad)
			}
			if tidy := tpl.Tidied(); tidy != tpl {
				t.Errorf("%s in %s is not tidy", topic, in.Words())
			}
			english := message.Usual(topic, tongue.English)
			for part, pair := range map[string][2]string{"subject": {english.Subject, tpl.Subject}, "text": {english.Text, tpl.Text},
				"short": {english.Short, tpl.Short}} {
				for _, p := range topic.Placeholders() {
					if strings.Contains(pair[0], p.Written()) != strings.Contains(pair[1], p.Written()) {
						t.Errorf("%s, %s: %s has %s otherwise than English has", topic, part, in.Words(), p.Written())
					}
				}
			}
			filled, err := tpl.Fill(topic, string(in), values(topic))
			if err != nil {
				t.Fatalf("%s in %s: %v", topic, in.Words(), err)
			}
			for _, p := range topic.Needs() {
				want := values(topic)[p]
				if !strings.Contains(filled.Text, want) || !strings.Contains(filled.Short, want) {
					t.Errorf("%s in %s lacks %s", topic, in.Words(), p.Written())
				}
			}
			if strings.ContainsAny(filled.Subject+filled.Text+filled.Short, "{}") {
				t.Errorf("%s in %s: a place stands open:\n%s", topic, in.Words(), filled.Text)
			}
		}
	}
}

func TestWrongPlaceholdersAreRefusedWithWhatIsMeant(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		topic       message.Topic
		typed, said string
	}{
		{message.Ready, "Hello {custmer}", "{custmer} is no placeholder; {customer} is meant"},
		{message.Ready, "Hello {Customer name}", "{Customer name} is no placeholder; {customer} is meant"},
		{message.Ready, "Pay {balance}", "{balance} is no placeholder; {still to pay} is meant"},
		{message.Ready, "Pay {still_to_pay}", "{still to pay} is meant"},
		{message.Ready, "It comes to {total}", "nothing says what the estimate comes to when it is “ready to collect”"},
		{message.Ready, "Hello {quux}", "insert one of those listed"},
		{message.Ready, "Hello {{.Customer}}", "a { without its }"},
		{message.Ready, "Hello {customer", "a { without its }"},
		{message.Ready, "Hello customer}", "a } without its {"},
		{message.Ready, "Hello {}", "insert one of those listed"},
		{message.EstimateReady, "Your estimate is there.", "Insert {link} too"},
		{message.Delayed, "It takes longer.", "Insert {promised day} too"},
	} {
		tpl := message.Template{Subject: "A subject", Text: c.typed, Short: message.Usual(c.topic, tongue.English).Short}
		bad := tpl.Problems(c.topic)
		if !strings.Contains(bad["text"], c.said) || len(bad) != 1 {
			t.Errorf("%q: got %v, want %q beside the text", c.typed, bad, c.said)
		}
		if bad := (message.Template{Subject: c.typed, Text: message.Usual(c.topic, "en").Text, Short: "x " + message.PutLink.Written() + message.PutHours.Written()}).
			Problems(c.topic); strings.Contains(c.said, "placeholder") && bad["subject"] == "" {
			t.Errorf("%q as a subject is kept", c.typed)
		}
	}
	if bad := (message.Template{}).Problems(message.Ready); len(bad) != 3 {
		t.Errorf("nothing typed: got %v", bad)
	}
	if bad := (message.Template{Subject: "s", Text: "t", Short: strings.Repeat("a", message.MaxShort+1)}).Problems(message.Ready); bad["short"] == "" {
		t.Error("a short form of any length is kept")
	}
}

// A line with something that is not known is left out, and leaves no gap.
func TestLinesWithoutValue(t *testing.T) {
	t.Parallel()
	tpl := message.Template{Subject: "s", Text: "One\n\n{hours}\n\nStill: {still to pay}\n\nTwo", Short: "x"}
	got, err := tpl.Fill(message.Ready, "en", message.Values{})
	if err != nil || got.Text != "One\n\nTwo" {
		t.Errorf("got %q, %v", got.Text, err)
	}
	if short, err := (message.Template{Subject: "s", Text: "t", Short: "{shop}: ready. {link}"}).Fill(message.Ready, "en",
		message.Values{message.PutShop: "Tern"}); err != nil || short.Short != "Tern: ready. " {
		t.Errorf("one line alone: got %q, %v", short.Short, err)
	}
	got, err = tpl.Fill(message.Ready, "en", message.Values{message.PutHours: "Mo: 9 to 5\nTu: closed", message.PutOwn: "Mind the step."})
	if err != nil || got.Text != "One\n\nMo: 9 to 5\nTu: closed\n\nTwo\n\nMind the step." || got.Short != "x Mind the step." {
		t.Errorf("got %q and %q, %v", got.Text, got.Short, err)
	}
}

// Whatever is typed as a name, an owner's words or a question: the HTML form holds nothing but our own elements and
// attributes, and its text is the plain form. It is read by golang.org/x/net/html, the parser of the HTML standard.
func TestNothingTypedBecomesMarkup(t *testing.T) {
	t.Parallel()
	wild := []string{`<script>alert(1)</script>`, `"><img src=x onerror=alert(1)>`, `{link}`, `{{.}}`, `فاطمة الزهراء`, `שלום`, `渡辺 直美`, `Ζωή`,
		"a\r\nBcc: all@shop.example", `&lt;b&gt;`, `O’Brien & Sons`, `javascript:alert(1)`, "\u202eevil"}
	rapid.Check(t, func(r *rapid.T) {
		topic := rapid.SampledFrom(message.Topics).Draw(r, "topic")
		v := message.Values{}
		for _, p := range topic.Placeholders() {
			v[p] = rapid.OneOf(rapid.SampledFrom(wild), rapid.String()).Draw(r, string(p))
		}
		v[message.PutLink] = "https://shop.example/c/abcdef"
		tpl := message.Usual(topic, rapid.SampledFrom(tongue.All).Draw(r, "tongue"))
		tpl.Text += "\n\n" + rapid.SampledFrom([]string{"<b onclick=x>", "</p><script>", "<!--", "&copy;"}).Draw(r, "owner's")
		got, err := tpl.Fill(topic, "en", v)
		if err != nil {
			r.Fatal(err)
		}
		if strings.ContainsAny(got.Subject, "\r\n") {
			r.Fatalf("a subject of several lines: %q", got.Subject)
		}
		doc, err := html.Parse(strings.NewReader(got.HTML))
		if err != nil {
			r.Fatal(err)
		}
		for n := range doc.Descendants() {
			if n.Type == html.CommentNode {
				r.Fatalf("a comment was let in: %q", n.Data)
			}
			if n.Type != html.ElementNode {
				continue
			}
			if !strings.Contains(" html head meta body div p br a bdi ", " "+n.Data+" ") {
				r.Fatalf("element %s was let in by %q", n.Data, v)
			}
			for _, a := range n.Attr {
				if u, err := url.Parse(a.Val); a.Key == "href" && (err != nil || u.Scheme != "https" || u.Host != "shop.example") {
					r.Fatalf("a link to %q", a.Val)
				} else if !strings.Contains(" lang charset name content style dir href ", " "+a.Key+" ") {
					r.Fatalf("attribute %s was let in", a.Key)
				}
			}
		}
	})
}

// A javascript: address is no link, even if the program were made to fill one in (html/template's contextual escaping).
func TestLinkIsAnAddress(t *testing.T) {
	t.Parallel()
	got, err := message.Template{Subject: "s", Text: "{link}", Short: "s"}.Fill(message.Ready, "en", message.Values{message.PutLink: "javascript:alert(1)"})
	if err != nil || strings.Contains(got.HTML, `href="javascript`) {
		t.Errorf("got %v, %v", got.HTML, err)
	}
}
