-- What a new shop still needs is worked out from the record; what the record can't know is said here.

-- +goose Up
ALTER TABLE shop ADD COLUMN tax_said boolean, ADD COLUMN ruler_mm double precision CHECK (ruler_mm BETWEEN 50 AND 200),
    ADD COLUMN first_steps_away boolean;
ALTER TABLE shop_version ADD COLUMN tax_said boolean, ADD COLUMN ruler_mm double precision CHECK (ruler_mm BETWEEN 50 AND 200),
    ADD COLUMN first_steps_away boolean;
COMMENT ON COLUMN shop.tax_said IS 'the owner said whether tax is charged; null where nobody did';
COMMENT ON COLUMN shop.ruler_mm IS 'what the test print''s ruler of 100 mm measured on the shop''s printer, mm; null where nobody measured';
COMMENT ON COLUMN shop.first_steps_away IS 'the owner put the list of first steps away; null where not';

-- +goose Down
ALTER TABLE shop_version DROP COLUMN first_steps_away, DROP COLUMN ruler_mm, DROP COLUMN tax_said;
ALTER TABLE shop DROP COLUMN first_steps_away, DROP COLUMN ruler_mm, DROP COLUMN tax_said;
