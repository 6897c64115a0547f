-- The shop's logo, as its papers print it. It lies in the database and not beside the photographs: it is small, must be there
-- whenever a paper is printed, and so is saved with its settings or not at all, and backed up and checked as they are.

-- +goose Up
CREATE TABLE logo (
    name     text PRIMARY KEY,
    png      bytea NOT NULL CHECK (octet_length(png) < 8388608),
    added_at timestamptz NOT NULL,
    added_by bigint NOT NULL REFERENCES staff
);
COMMENT ON TABLE logo IS 'pictures that were the shop''s logo; none is ever changed, as papers of its day go on printing it';
COMMENT ON COLUMN logo.name IS 'SHA-256 of png in hexadecimal digits, then width x height in pixels';
COMMENT ON COLUMN logo.png IS 'made anew of what was sent in: nothing but what is seen';
-- +goose StatementBegin
CREATE FUNCTION logo_kept() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'a logo stays as it was; another is another row' USING ERRCODE = 'integrity_constraint_violation';
END $$;
-- +goose StatementEnd
CREATE TRIGGER logo_no_change BEFORE UPDATE OR DELETE ON logo FOR EACH ROW EXECUTE FUNCTION logo_kept();
CREATE TRIGGER logo_no_truncate BEFORE TRUNCATE ON logo FOR EACH STATEMENT EXECUTE FUNCTION logo_kept();
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON logo FOR EACH ROW EXECUTE FUNCTION record_written('name', '');

ALTER TABLE shop ADD COLUMN logo text REFERENCES logo, ADD COLUMN logo_none boolean;
ALTER TABLE shop_version ADD COLUMN logo text REFERENCES logo, ADD COLUMN logo_none boolean;
COMMENT ON COLUMN shop.logo IS 'printed at the head of papers; null for none';
COMMENT ON COLUMN shop.logo_none IS 'the owner said that no logo is wanted; null where not';

-- +goose Down
ALTER TABLE shop_version DROP COLUMN logo, DROP COLUMN logo_none;
ALTER TABLE shop DROP COLUMN logo, DROP COLUMN logo_none;
DROP TABLE logo;
DROP FUNCTION logo_kept;
