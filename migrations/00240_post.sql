-- How the shop's mail leaves: the mail server and the sender, how far each message has come, and what stands against mail to a
-- customer. The jobs that carry messages are River's, whose tables its own migrator makes.

-- +goose Up
CREATE TABLE mail_settings (
    id             boolean PRIMARY KEY DEFAULT true CHECK (id),
    version        bigint NOT NULL,
    host           text NOT NULL,
    port           integer NOT NULL,
    security       text NOT NULL CHECK (security IN ('starttls', 'tls', 'none')),
    username       text NOT NULL,
    sender_name    text NOT NULL,
    sender_address text NOT NULL,
    reply_to       text NOT NULL,
    seals_to       text NOT NULL
);
COMMENT ON TABLE mail_settings IS 'the mail server that carries the shop''s messages on, and who sends them; the password is in the key ring';
COMMENT ON COLUMN mail_settings.host IS 'empty where no server is set up';
COMMENT ON COLUMN mail_settings.seals_to IS 'address to which the day''s seal of the record is mailed; empty for none';
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON mail_settings FOR EACH ROW EXECUTE FUNCTION record_written('id', '');

CREATE TABLE message_delivery (
    message_id bigint PRIMARY KEY REFERENCES message ON DELETE CASCADE,
    job_id     bigint,
    tries      integer NOT NULL DEFAULT 0 CHECK (tries >= 0),
    begun_at   timestamptz,
    next_at    timestamptz,
    unsure     boolean NOT NULL DEFAULT false,
    stranded   boolean NOT NULL DEFAULT false,
    said       text NOT NULL DEFAULT ''
);
COMMENT ON TABLE message_delivery IS 'how far handing a mail to the mail server has come; what became of it stands in message';
COMMENT ON COLUMN message_delivery.job_id IS 'River''s job that carries it; null before there is one';
COMMENT ON COLUMN message_delivery.begun_at IS 'of a try whose outcome is not written down';
COMMENT ON COLUMN message_delivery.unsure IS 'an answer of the server was lost: it may have the message';
COMMENT ON COLUMN message_delivery.stranded IS 'the last try failed by the shop''s own settings';
INSERT INTO message_delivery (message_id) SELECT id FROM message WHERE way = 'mail';

ALTER TABLE customer ADD COLUMN no_mail_at timestamptz, ADD COLUMN mail_back_to text, ADD COLUMN mail_back_at timestamptz,
    ADD COLUMN mail_back_why text;
COMMENT ON COLUMN customer.no_mail_at IS 'since when the customer wants no mail; null for they may be written to';
COMMENT ON COLUMN customer.mail_back_to IS 'address, as email_key, to which mail came back; it counts while it is still theirs';
COMMENT ON COLUMN customer.mail_back_why IS 'what the mail server said, or what was noted by hand';

-- +goose Down
ALTER TABLE customer DROP COLUMN no_mail_at, DROP COLUMN mail_back_to, DROP COLUMN mail_back_at, DROP COLUMN mail_back_why;
DROP TABLE message_delivery;
DROP TABLE mail_settings;
