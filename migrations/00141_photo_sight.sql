-- Which photographs the customer sees, and those that were removed. Until now a private link showed every photograph of
-- its docket: what a link could show stays to be seen, what none ever could was seen by nobody and waits to be chosen.

-- +goose Up
ALTER TABLE photo
    ADD COLUMN customer_sees boolean NOT NULL DEFAULT false,
    ADD COLUMN removed_at    timestamptz,
    ADD COLUMN removed_by    bigint REFERENCES staff,
    ADD COLUMN removed_why   text NOT NULL DEFAULT '',
    ADD COLUMN cleared_at    timestamptz,
    ADD CONSTRAINT photo_removed_check CHECK ((removed_at IS NULL) = (removed_by IS NULL)
        AND (removed_at IS NULL) = (removed_why = '') AND (removed_at IS NULL OR NOT customer_sees)
        AND (cleared_at IS NULL OR removed_at IS NOT NULL));
UPDATE photo p SET customer_sees = true WHERE EXISTS (SELECT FROM customer_link l
    WHERE l.docket_id = p.docket_id AND p.added_at < l.expires_at AND (l.ended_at IS NULL OR p.added_at < l.ended_at));
COMMENT ON COLUMN photo.customer_sees IS 'chosen for the page behind the private link';
COMMENT ON COLUMN photo.removed_at IS 'the row stays as evidence; the picture is shown to nobody';
COMMENT ON COLUMN photo.cleared_at IS 'when the removed picture''s files were deleted';
CREATE INDEX photo_sum_idx ON photo (sha256);
CREATE INDEX photo_uncleared_idx ON photo (sha256) WHERE removed_at IS NOT NULL AND cleared_at IS NULL;

-- +goose Down
ALTER TABLE photo DROP COLUMN customer_sees, DROP COLUMN removed_at, DROP COLUMN removed_by, DROP COLUMN removed_why,
    DROP COLUMN cleared_at;
DROP INDEX photo_sum_idx;
