-- What the record checks found, for the owner. It is no evidence: each can be made again.

-- +goose Up
CREATE TABLE record_check (
    id       bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    begun_at timestamptz NOT NULL,
    ended_at timestamptz NOT NULL,
    by_id    bigint REFERENCES staff,
    findings bigint NOT NULL CHECK (findings >= 0),
    words    text[] NOT NULL,
    said     text[] NOT NULL,
    failed   text NOT NULL DEFAULT '',
    CHECK (failed = '' OR findings = 0)
);
COMMENT ON TABLE record_check IS 'a record check that came to its end, or that could not be made; kept for 400 days';
COMMENT ON COLUMN record_check.begun_at IS 'when the record was read';
COMMENT ON COLUMN record_check.by_id IS 'who asked for it; null for the program itself';
COMMENT ON COLUMN record_check.findings IS 'how many things differ';
COMMENT ON COLUMN record_check.words IS 'what was looked at, a sentence each';
COMMENT ON COLUMN record_check.said IS 'the first findings, a sentence each';
COMMENT ON COLUMN record_check.failed IS 'why it could not be made, as a sentence; empty where it was';
CREATE INDEX record_check_begun_idx ON record_check (begun_at DESC, id DESC);

-- +goose Down
DROP TABLE record_check;
