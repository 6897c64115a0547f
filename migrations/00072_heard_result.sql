-- What was heard, kept with the reading, so that its charts can be looked at for as long as the reading stands.

-- +goose Up
ALTER TABLE heard ADD COLUMN result jsonb;
COMMENT ON COLUMN heard.result IS 'beats, averaged sounds and stretches as they were heard, the instants as found; null when not kept';

-- +goose Down
ALTER TABLE heard DROP COLUMN result;
