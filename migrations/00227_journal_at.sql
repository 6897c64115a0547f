-- +goose Up
-- The newest moment of the record is looked for at every start and every half minute, for a clock that was set back.
CREATE INDEX journal_at_idx ON journal (at);

-- +goose Down
DROP INDEX journal_at_idx;
