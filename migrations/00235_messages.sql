-- A word to the customer: what was told, how, and what became of it; the language a customer is spoken to in; opening hours.

-- +goose Up
ALTER TABLE customer ADD COLUMN tongue text CHECK (tongue IN ('en', 'de', 'fr'));
COMMENT ON COLUMN customer.tongue IS 'ISO 639-1 code of the language of pages, papers and messages; null for the shop''s own';

ALTER TABLE shop ADD COLUMN hours text;
ALTER TABLE shop_version ADD COLUMN hours text;
COMMENT ON COLUMN shop.hours IS 'opening hours, lines in the form of schema.org''s openingHours; null where nobody gave any';

CREATE TABLE message (
    id          bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    docket_id   bigint NOT NULL REFERENCES docket,
    customer_id bigint NOT NULL REFERENCES customer,
    topic       text NOT NULL CHECK (topic <> ''),
    occasion    text NOT NULL DEFAULT '',
    tongue      text NOT NULL CHECK (tongue IN ('en', 'de', 'fr')),
    way         text NOT NULL CHECK (way IN ('mail', 'telephone', 'text', 'letter', 'in person')),
    sent_to     text NOT NULL,
    subject     text NOT NULL CHECK (subject <> ''),
    body        text NOT NULL CHECK (body <> ''),
    html        text NOT NULL DEFAULT '',
    state       text NOT NULL CHECK (state IN ('queued', 'sent', 'refused', 'to do', 'told', 'withdrawn')),
    mail_id     text NOT NULL DEFAULT '',
    queued_at   timestamptz NOT NULL,
    settled_at  timestamptz,
    settled_by  bigint REFERENCES staff,
    why         text NOT NULL DEFAULT '',
    CHECK ((way = 'mail') = (mail_id <> '')),
    CHECK ((state IN ('queued', 'to do')) = (settled_at IS NULL))
);
COMMENT ON TABLE message IS 'a word to the customer about a docket';
COMMENT ON COLUMN message.occasion IS 'what of its topic it tells, such as a revision''s number: one occasion is told once';
COMMENT ON COLUMN message.sent_to IS 'e-mail address, number in E.164 or postal address; empty in person';
COMMENT ON COLUMN message.mail_id IS 'RFC 5322 Message-ID without its brackets; the same however often it is tried';
COMMENT ON COLUMN message.why IS 'why it was refused or withdrawn, or what was noted when it was told';
CREATE INDEX message_docket_idx ON message (docket_id, id);
CREATE INDEX message_customer_idx ON message (customer_id, id);
CREATE INDEX message_open_idx ON message (id) WHERE state IN ('queued', 'to do', 'refused');
CREATE UNIQUE INDEX message_mail_id_idx ON message (mail_id) WHERE mail_id <> '';
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON message FOR EACH ROW EXECUTE FUNCTION record_written('id', '');

-- +goose Down
DROP TABLE message;
ALTER TABLE shop DROP COLUMN hours;
ALTER TABLE shop_version DROP COLUMN hours;
ALTER TABLE customer DROP COLUMN tongue;
