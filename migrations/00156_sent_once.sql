-- What was sent is done once, however often it is sent: a double press, a reload, a line that breaks before the answer.

-- +goose Up
CREATE TABLE sent_once (
    key      bytea NOT NULL CHECK (length(key) = 32),
    step     integer NOT NULL CHECK (step > 0),
    at       timestamptz NOT NULL DEFAULT now(),
    location text NOT NULL DEFAULT '',
    PRIMARY KEY (key, step)
);
COMMENT ON TABLE sent_once IS 'what was sent and done, kept for two days; written in the transaction that does it';
COMMENT ON COLUMN sent_once.key IS 'SHA-256 of who sent what to where from which drawing of a page';
COMMENT ON COLUMN sent_once.step IS 'which transaction of that request, from 1';
COMMENT ON COLUMN sent_once.location IS 'where the answer to it led; empty until it was answered';
CREATE INDEX sent_once_at_idx ON sent_once (at);

-- +goose Down
DROP TABLE sent_once;
