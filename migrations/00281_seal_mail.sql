-- The seal of each day is mailed to an address outside the shop, by the same outbox as messages to customers.

-- +goose Up
CREATE TABLE seal_mail (
    day       date PRIMARY KEY,
    note      text NOT NULL,
    sent_to   text NOT NULL,
    mail_id   text NOT NULL,
    state     text NOT NULL DEFAULT 'queued' CHECK (state IN ('queued', 'sent', 'refused')),
    queued_at timestamptz NOT NULL,
    tries     integer NOT NULL DEFAULT 0 CHECK (tries >= 0),
    begun_at  timestamptz,
    next_at   timestamptz,
    unsure    boolean NOT NULL DEFAULT false,
    said      text NOT NULL DEFAULT ''
);
COMMENT ON TABLE seal_mail IS 'the seal that was mailed on a day, and how far that has come; what became of it stands in the shop''s journal';
COMMENT ON COLUMN seal_mail.day IS 'UTC; one seal is mailed a day';
COMMENT ON COLUMN seal_mail.begun_at IS 'of a try whose outcome is not written down';
COMMENT ON COLUMN seal_mail.unsure IS 'an answer of the server was lost: it may have the mail';

-- +goose Down
DROP TABLE seal_mail;
