package message

import "testing"

func TestProblem(t *testing.T) {
	good := Message{DocketID: 1, CustomerID: 1, Topic: Ready, Way: Mail, To: "ana@tern.example", MailID: "1@shop.example", State: Queued,
		Subject: "Ready", Text: "Your watch is ready."}
	if err := good.Problem(); err != nil {
		t.Fatal(err)
	}
	for name, spoil := range map[string]func(*Message){
		"no docket":     func(m *Message) { m.DocketID = 0 },
		"no topic":      func(m *Message) { m.Topic = "weather" },
		"no way":        func(m *Message) { m.Way = "pigeon" },
		"no state":      func(m *Message) { m.State = "" },
		"nothing told":  func(m *Message) { m.Text = "" },
		"no address":    func(m *Message) { m.To = "" },
		"no message id": func(m *Message) { m.MailID = "" },
	} {
		m := good
		if spoil(&m); m.Problem() == nil {
			t.Errorf("%s: kept", name)
		}
	}
}

func TestEverythingHasWords(t *testing.T) {
	said := map[string]bool{}
	say := func(words string) {
		if words == "" || said[words] {
			t.Errorf("%q is said twice or not at all", words)
		}
		said[words] = true
	}
	for _, topic := range Topics {
		say(topic.Words())
	}
	for _, w := range Ways {
		say(w.Words())
	}
}
