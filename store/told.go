package store

import (
	"context"
	"fmt"
	"strconv"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/message"
	"ledgerwheel/domain/text"
)

// ContactRow is a line of a docket's log, and who wrote it when.
type ContactRow struct {
	ID int64
	message.Contact
	At time.Time
	By string
}

// ToldSheet is all that was told about a docket, what is to be told, and its log of calls and notes; each newest first.
type ToldSheet struct {
	Head     Head
	Reach    message.Reach
	Messages []MessageRow
	Contacts []ContactRow
	// Waits is whether an estimate waits for the customer's answer.
	Waits bool
}

// ToldSheet reads the sheet in one round trip; the error wraps domain.ErrNotFound.
func (s *Store) ToldSheet(ctx context.Context, n docket.Number) (ToldSheet, error) {
	var sheet ToldSheet
	var found bool
	var batch pgx.Batch
	queueHead(&batch, n, &sheet.Head, &found)
	stood := stoodShops{}
	queueShops(&batch, stood, `SELECT m.written_under FROM message m JOIN docket d ON d.id = m.docket_id WHERE d.number = $1`, n.String())
	queueMessages(&batch, n, &sheet.Messages)
	queueContacts(&batch, n, &sheet.Contacts)
	if err := s.sendSheet(ctx, &batch, &found); err != nil {
		return ToldSheet{}, fmt.Errorf("what was told about docket %s: %w", n, err)
	}
	for i := range sheet.Messages {
		sheet.Messages[i].Shop = stood[sheet.Messages[i].under]
	}
	sheet.Reach = message.Reach{Customer: sheet.Head.Customer}
	sheet.Waits = sheet.Head.Facts.Estimate == docket.EstimateSent
	return sheet, nil
}

func queueContacts(batch *pgx.Batch, n docket.Number, list *[]ContactRow) {
	batch.Queue(`SELECT k.id, k.kind, k.spoke_to, k.number, k.words, k.at, p.name FROM contact k JOIN staff p ON p.id = k.by_id
		WHERE k.docket_id = (SELECT id FROM docket WHERE number = $1) ORDER BY k.id DESC`, n.String()).Query(func(rows pgx.Rows) (err error) {
		*list, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (ContactRow, error) {
			var k ContactRow
			err := row.Scan(&k.ID, &k.Kind, &k.SpokeTo, &k.Number, &k.Words, &k.At, &k.By)
			k.At = k.At.UTC()
			return k, err
		})
		return err
	})
}

// WriteContact adds a line to a docket's log, also to a closed one's. The error is a *domain.InvalidError (see
// message.Contact.Problems), or wraps domain.ErrNotFound.
func (s *Store) WriteContact(ctx context.Context, c Change, k message.Contact) error {
	k = k.Tidied()
	if err := domain.Invalid(k.Problems()); err != nil {
		return err
	}
	return s.changeAny(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		told, err := writeContact(ctx, tx, d, c, k)
		return []event{told}, err
	})
}

func writeContact(ctx context.Context, tx pgx.Tx, d docket.Docket, c Change, k message.Contact) (event, error) {
	_, err := tx.Exec(ctx, `INSERT INTO contact (docket_id, kind, spoke_to, number, words, at, by_id) VALUES ($1, $2, $3, $4, $5, $6, $7)`,
		d.ID, string(k.Kind), k.SpokeTo, k.Number, k.Words, docket.Moment(c.At), c.By.StaffID)
	kind := docket.CallWritten
	if !k.Kind.Call() {
		kind = docket.NoteAdded
	}
	facts := map[string]string{}
	for _, f := range [][2]string{{"spoke_to", k.SpokeTo}, {"number_called", k.Number}, {"words", k.Words}} {
		if f[1] != "" {
			facts[f[0]] = f[1]
		}
	}
	return event{kind: kind, summary: k.Summary(), facts: facts}, err
}

// lockMessage reads a message of a locked docket. The error wraps domain.ErrNotFound.
func lockMessage(ctx context.Context, tx pgx.Tx, d docket.Docket, id int64) (MessageRow, error) {
	rows, _ := tx.Query(ctx, messageSQL+`WHERE m.id = $1 AND m.docket_id = $2 FOR UPDATE OF m`, id, d.ID)
	return pgx.CollectExactlyOneRow(rows, scanMessage)
}

// ErrMessageSettled reports a message about which nothing is to do any more.
var ErrMessageSettled = fmt.Errorf("this message needs nothing any more: %w", domain.ErrChanged)

// settleMessage writes what became of a message that waits for a person.
func settleMessage(ctx context.Context, tx pgx.Tx, c Change, m MessageRow, state message.State, why string) (event, error) {
	_, err := tx.Exec(ctx, `UPDATE message SET state = $2, settled_at = $3, settled_by = $4, why = $5 WHERE id = $1`, m.ID, string(state),
		docket.Moment(c.At), nullID(c.By.StaffID), why)
	kind := docket.CustomerTold
	if state == message.Withdrawn {
		kind = docket.MessageWithdrawn
	}
	facts := map[string]any{"message": m.ID}
	if why != "" {
		facts["words"] = why
	}
	return event{kind: kind, summary: docket.MessageSummary(m.Topic.Words(), m.Way.Words(), string(state)), facts: facts}, err
}

// MessageTold writes down that a person has told a message that waited for it; said is what was said with it, and may be
// empty. The error is a *domain.InvalidError (field "said"), ErrMessageSettled where somebody did already, or wraps
// domain.ErrNotFound.
func (s *Store) MessageTold(ctx context.Context, c Change, id int64, said string) error {
	return s.settle(ctx, c, id, message.Told, said)
}

// WithdrawMessage writes down that a message that waits, for a person or for the mail server, is not to be told; why is asked
// for. The error is as MessageTold's, or wraps message.ErrUnderWay for a mail that is being handed over.
func (s *Store) WithdrawMessage(ctx context.Context, c Change, id int64, why string) error {
	if text.Lines(why) == "" {
		return domain.Invalid(map[string]string{"said": "Write why the customer need not be told."})
	}
	return s.settle(ctx, c, id, message.Withdrawn, why)
}

func (s *Store) settle(ctx context.Context, c Change, id int64, state message.State, said string) error {
	said = text.Lines(said)
	if text.TooLong(said, message.MaxContactWords) {
		return domain.Invalid(map[string]string{"said": "Keep it to at most 4000 characters."})
	}
	return s.changeAny(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		m, err := lockMessage(ctx, tx, d, id)
		if err != nil {
			return nil, err
		}
		if m.State == message.Queued && state == message.Withdrawn {
			if err := mayWithdraw(ctx, tx, c, id); err != nil {
				return nil, err
			}
		} else if m.State != message.ToDo {
			return nil, ErrMessageSettled
		}
		told, err := settleMessage(ctx, tx, c, m, state, said)
		return []event{told}, err
	})
}

// TellOtherwise has a message that waits for a person, or that was refused, told by another way, in the words that it had.
// done says that it was told so already. The error is a *domain.InvalidError (field "way"), ErrMessageSettled, or wraps
// domain.ErrNotFound.
func (s *Store) TellOtherwise(ctx context.Context, c Change, id int64, way message.Way, done bool) error {
	return s.changeAny(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		m, err := lockMessage(ctx, tx, d, id)
		if err != nil {
			return nil, err
		}
		var followed bool
		if err := tx.QueryRow(ctx, `SELECT EXISTS (SELECT FROM message WHERE instead_of = $1)`, id).Scan(&followed); err != nil {
			return nil, err
		}
		if followed || m.State != message.ToDo && m.State != message.Refused {
			return nil, ErrMessageSettled
		}
		h, err := hearerOf(ctx, tx, d, m.Topic)
		if err != nil {
			return nil, err
		}
		if way == m.Way && m.State == message.ToDo || way != message.InPerson && h.reach.To(way) == "" {
			return nil, domain.Invalid(map[string]string{"way": "Choose a way in which the customer can be reached."})
		}
		var events []event
		if m.State == message.ToDo {
			withdrawn, err := settleMessage(ctx, tx, c, m, message.Withdrawn, "told "+way.Words()+" instead")
			if err != nil {
				return nil, err
			}
			events = append(events, withdrawn)
		}
		next := m.Message.By(way)
		next.To, next.InsteadOf, next.CustomerID = h.reach.To(way), m.ID, d.CustomerID
		if done {
			next.State = message.Told
		}
		if way == message.Mail {
			next.MailID = NewMailID(h.shop.Email)
		}
		told, err := s.queueMessage(ctx, tx, c, &next)
		return append(events, told), err
	})
}

// TellNow tells a customer something about a docket by itself, without a change that causes it: c.Tell says how. question is
// what is asked, of message.Question. The error is a *domain.InvalidError (fields "topic", "question", "tell", "tell_own"),
// or wraps domain.ErrNotFound.
func (s *Store) TellNow(ctx context.Context, c Change, topic message.Topic, question string) error {
	question = text.Lines(question)
	bad := map[string]string{}
	switch {
	case topic == message.Question && question == "":
		bad["question"] = "Write what is asked."
	case text.TooLong(question, message.MaxContactWords):
		bad["question"] = "Keep it to at most 4000 characters."
	}
	if c.Tell.Way == "" {
		bad["tell"] = "Choose how the customer is told."
	}
	if err := domain.Invalid(bad); err != nil {
		return err
	}
	return s.changeAny(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		w, err := s.wordNow(ctx, tx, d, c, topic)
		if err != nil {
			return nil, err
		}
		if topic == message.Question {
			w.values = func(speech) message.Values { return message.Values{message.PutQuestion: question} }
		}
		return s.tell(ctx, tx, d, c, w)
	})
}

// wordNow is what there is to tell of a topic as the docket stands.
func (s *Store) wordNow(ctx context.Context, tx pgx.Tx, d docket.Docket, c Change, topic message.Topic) (word, error) {
	none := domain.Invalid(map[string]string{"topic": "The docket has nothing to tell of that now: look at what stands below."})
	switch topic {
	case message.Question:
		return word{topic: topic, occasion: strconv.FormatInt(d.Version+1, 10)}, nil
	case message.EstimateReady:
		e, err := lockEstimate(ctx, tx, d.ID)
		if err != nil {
			return word{}, err
		}
		if r, ok := e.Waiting(); ok && !d.Closed() {
			return estimateWord(topic, d, r), nil
		}
		return word{}, none
	case message.Ready:
		if d.Stage == docket.StageReady {
			return readyWord(ctx, tx, d, c.At)
		}
	}
	return word{}, none
}
