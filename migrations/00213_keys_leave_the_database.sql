-- The private half of a signing key is kept outside the database. At the next start the program writes each seed that is
-- still here to a file, reads it back, and only then takes it out.

-- +goose Up
ALTER TABLE signing_key
    ALTER COLUMN seed DROP NOT NULL,
    ADD COLUMN seed_left_at timestamptz;
COMMENT ON TABLE signing_key IS 'Ed25519; a retired key signs no more but still proves its cards. The private half is kept outside the database';
COMMENT ON COLUMN signing_key.seed IS 'private half of a key from before it was kept outside; null once it was taken out, and for newer keys';
COMMENT ON COLUMN signing_key.seed_left_at IS 'when the private half was taken out of the database: copies of the database from before still hold it; null for keys that never were in it';

-- +goose Down
-- Keys whose private half is not here can't sign again: only a shop without any can go back.
ALTER TABLE signing_key
    DROP COLUMN seed_left_at,
    ALTER COLUMN seed SET NOT NULL;
