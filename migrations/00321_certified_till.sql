-- +goose Up
-- Whether the law of the place asks for a certified till, as the owner said it.

ALTER TABLE shop ADD COLUMN certified_till text CHECK (certified_till IN ('asked', 'not-asked'));
ALTER TABLE shop_version ADD COLUMN certified_till text;
COMMENT ON COLUMN shop.certified_till IS 'null where the owner did not say: then as the country has it';

-- +goose Down
ALTER TABLE shop_version DROP COLUMN certified_till;
ALTER TABLE shop DROP COLUMN certified_till;
