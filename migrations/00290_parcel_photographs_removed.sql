-- Photographs of parcels show the label, and so the name and street of who sent it: they go with the person's data. The row stays as
-- evidence, with the sum of what was there.

-- +goose Up
ALTER TABLE parcel_photo
    ADD COLUMN removed_at timestamptz,
    ADD COLUMN removed_by bigint REFERENCES staff,
    ADD COLUMN cleared_at timestamptz,
    ADD CONSTRAINT parcel_photo_removed_check CHECK (cleared_at IS NULL OR removed_at IS NOT NULL);
COMMENT ON COLUMN parcel_photo.removed_at IS 'the row stays as evidence; the picture is shown to nobody';
COMMENT ON COLUMN parcel_photo.removed_by IS 'null where the program erased again what an older record brought back';
COMMENT ON COLUMN parcel_photo.cleared_at IS 'when the removed picture''s files were deleted';
CREATE INDEX parcel_photo_uncleared_idx ON parcel_photo (sha256) WHERE removed_at IS NOT NULL AND cleared_at IS NULL;
DROP TRIGGER record_written ON parcel_photo;
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON parcel_photo FOR EACH ROW EXECUTE FUNCTION record_written('id', 'cleared_at');

-- +goose Down
DROP TRIGGER record_written ON parcel_photo;
ALTER TABLE parcel_photo DROP COLUMN removed_at, DROP COLUMN removed_by, DROP COLUMN cleared_at;
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON parcel_photo FOR EACH ROW EXECUTE FUNCTION record_written('id', '');
