-- The country in which a telephone number was read is kept with it, so that the number is read once. For the numbers
-- kept until now it was not written down, and nothing tells it for certain, so it stays empty. What is no E.164 number
-- is no longer taken for one: its text stays as it was typed, and counts as unread.

-- +goose Up
ALTER TABLE customer ADD COLUMN phone_region text NOT NULL DEFAULT ''
    CHECK (phone_region = '' OR phone_region ~ '^[A-Z]{2}$' AND phone_e164 <> '');
UPDATE customer SET phone_e164 = '' WHERE phone_e164 <> '' AND phone_e164 !~ '^\+[1-9][0-9]{3,14}$';
COMMENT ON COLUMN customer.phone IS 'as typed';
COMMENT ON COLUMN customer.phone_e164 IS 'ITU-T E.164, read once from phone; empty where phone was not read';
COMMENT ON COLUMN customer.phone_region IS 'ISO 3166-1 alpha-2 country by which phone was read; empty where not kept';

-- +goose Down
ALTER TABLE customer DROP COLUMN phone_region;
COMMENT ON COLUMN customer.phone IS NULL;
COMMENT ON COLUMN customer.phone_e164 IS NULL;
