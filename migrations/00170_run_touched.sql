-- What an adjustment touched, so that what was measured before it is used as far as it still holds. Of adjustments
-- before this nobody said; they keep counting as work on the poise.

-- +goose Up
ALTER TABLE run ADD COLUMN touched text[] NOT NULL DEFAULT '{}'
    CHECK (touched <@ ARRAY['cleaned', 'beat', 'pins', 'spring', 'poise', 'regulator']);
COMMENT ON COLUMN run.touched IS 'what an adjustment touched before this run; empty where nobody said';

-- +goose Down
ALTER TABLE run DROP COLUMN touched;
