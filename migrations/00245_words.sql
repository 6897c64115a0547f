-- What the shop's messages say, when they are told by themselves, calls and notes of a docket, and consent by telephone.

-- +goose Up
ALTER TABLE message
    ADD COLUMN other_body text,
    ADD COLUMN instead_of bigint REFERENCES message;
COMMENT ON COLUMN message.other_body IS 'what it would say by another way: the short form of a long one, or the long form of a short; null for none';
COMMENT ON COLUMN message.instead_of IS 'the message in whose place this one was written, another way having been chosen; null for none';
CREATE UNIQUE INDEX message_reminder_idx ON message (docket_id, topic, occasion)
    WHERE instead_of IS NULL AND topic IN ('not collected', 'warranty ending', 'service due');
CREATE INDEX message_instead_idx ON message (instead_of) WHERE instead_of IS NOT NULL;

CREATE TABLE message_template (
    id      bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    topic   text NOT NULL CHECK (topic <> ''),
    tongue  text NOT NULL CHECK (tongue IN ('en', 'de', 'fr')),
    subject text,
    body    text,
    short   text,
    made_at timestamptz NOT NULL,
    made_by bigint NOT NULL REFERENCES staff,
    CHECK ((subject IS NULL) = (body IS NULL) AND (subject IS NULL) = (short IS NULL))
);
COMMENT ON TABLE message_template IS 'the owner''s words of a topic in a language each time they were saved; the newest are those of today, and none is ever changed';
COMMENT ON COLUMN message_template.subject IS 'null, with body and short, where the program''s own words stand again';
CREATE INDEX message_template_newest_idx ON message_template (topic, tongue, id);

CREATE TABLE message_reminders (
    id                 bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    not_collected_days integer NOT NULL CHECK (not_collected_days BETWEEN 0 AND 365),
    warranty_days      integer NOT NULL CHECK (warranty_days BETWEEN 0 AND 365),
    service_years      integer NOT NULL CHECK (service_years BETWEEN 0 AND 20),
    made_at            timestamptz NOT NULL,
    made_by            bigint NOT NULL REFERENCES staff
);
COMMENT ON TABLE message_reminders IS 'what is told when its day comes, each time it was saved; the newest holds, and none is ever changed. 0 is never';

CREATE TABLE contact (
    id        bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    docket_id bigint NOT NULL REFERENCES docket,
    kind      text NOT NULL CHECK (kind IN ('no answer', 'left a message', 'spoke', 'they called', 'note')),
    spoke_to  text NOT NULL DEFAULT '',
    number    text NOT NULL DEFAULT '',
    words     text NOT NULL DEFAULT '',
    at        timestamptz NOT NULL,
    by_id     bigint NOT NULL REFERENCES staff
);
COMMENT ON TABLE contact IS 'calls made and taken about a docket, and notes of those who work on it; none is ever changed';
COMMENT ON COLUMN contact.number IS 'number called or calling, as it was written down';
CREATE INDEX contact_docket_idx ON contact (docket_id, id);

-- +goose StatementBegin
CREATE FUNCTION written_once() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'what was written down stays as it was' USING ERRCODE = 'integrity_constraint_violation';
END $$;
-- +goose StatementEnd
CREATE TRIGGER written_once BEFORE UPDATE OR DELETE ON message_template FOR EACH ROW EXECUTE FUNCTION written_once();
CREATE TRIGGER written_once BEFORE UPDATE OR DELETE ON message_reminders FOR EACH ROW EXECUTE FUNCTION written_once();
CREATE TRIGGER written_once BEFORE UPDATE OR DELETE ON contact FOR EACH ROW EXECUTE FUNCTION written_once();
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON message_template FOR EACH ROW EXECUTE FUNCTION record_written('id', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON message_reminders FOR EACH ROW EXECUTE FUNCTION record_written('id', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON contact FOR EACH ROW EXECUTE FUNCTION record_written('id', '');

ALTER TABLE estimate_revision
    ADD COLUMN agreed_at timestamptz,
    ADD COLUMN called_number text,
    ADD COLUMN called_by text,
    ADD COLUMN agreed_added text,
    ADD COLUMN agreed_minor bigint;
COMMENT ON COLUMN estimate_revision.agreed_at IS 'when it was answered on the telephone; decided_at is when that was written down. Null, with those beside it, unless decided_via is telephone';
COMMENT ON COLUMN estimate_revision.called_number IS 'number that was called';
COMMENT ON COLUMN estimate_revision.called_by IS 'who of the shop called';
COMMENT ON COLUMN estimate_revision.agreed_added IS 'parts and work that were added by it, as they were said';
COMMENT ON COLUMN estimate_revision.agreed_minor IS 'new total that was said, in minor units of its currency; equal to that of the lines agreed';

-- +goose Down
ALTER TABLE estimate_revision DROP COLUMN agreed_at, DROP COLUMN called_number, DROP COLUMN called_by, DROP COLUMN agreed_added,
    DROP COLUMN agreed_minor;
DROP TABLE contact;
DROP TABLE message_reminders;
DROP TABLE message_template;
DROP FUNCTION written_once;
DROP INDEX message_instead_idx;
DROP INDEX message_reminder_idx;
ALTER TABLE message DROP COLUMN instead_of, DROP COLUMN other_body;
