-- A letter is printed by the settings under which it was written.

-- +goose Up
ALTER TABLE message ADD COLUMN written_under bigint REFERENCES shop_version;
COMMENT ON COLUMN message.written_under IS 'settings that its letter is printed by; null for messages from before, which are printed by today''s';

-- +goose Down
ALTER TABLE message DROP COLUMN written_under;
