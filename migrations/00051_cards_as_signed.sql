-- A card is kept as the exact bytes that were signed, and who made and retired each key is known.

-- +goose Up
DROP TRIGGER warranty_card_fixed ON warranty_card;
DROP FUNCTION warranty_card_fixed;
ALTER TABLE warranty_card RENAME COLUMN facts TO payload;
ALTER TABLE warranty_card ALTER COLUMN payload TYPE bytea USING convert_to(payload, 'UTF8');
COMMENT ON COLUMN warranty_card.payload IS 'the bytes that were signed: everything the card says; never changed';
ALTER TABLE warranty_card ADD CONSTRAINT warranty_card_void_check CHECK ((voided_at IS NULL) = (voided_by IS NULL));
CREATE INDEX warranty_card_key_idx ON warranty_card (key_id, issued_at DESC);

-- +goose StatementBegin
CREATE FUNCTION warranty_card_fixed() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP = 'DELETE'
       OR (NEW.id, NEW.docket_id, NEW.code, NEW.payload, NEW.key_id, NEW.signature, NEW.issued_at, NEW.issued_by)
          IS DISTINCT FROM
          (OLD.id, OLD.docket_id, OLD.code, OLD.payload, OLD.key_id, OLD.signature, OLD.issued_at, OLD.issued_by)
       OR NEW.supersedes IS DISTINCT FROM OLD.supersedes
       OR OLD.voided_at IS NOT NULL AND (NEW.voided_at, NEW.voided_by, NEW.void_reason)
          IS DISTINCT FROM (OLD.voided_at, OLD.voided_by, OLD.void_reason) THEN
        RAISE EXCEPTION 'a warranty card is never edited' USING ERRCODE = 'integrity_constraint_violation';
    END IF;
    RETURN NEW;
END $$;
-- +goose StatementEnd
CREATE TRIGGER warranty_card_fixed BEFORE UPDATE OR DELETE ON warranty_card
    FOR EACH ROW EXECUTE FUNCTION warranty_card_fixed();

ALTER TABLE signing_key
    ADD COLUMN made_by bigint REFERENCES staff,
    ADD COLUMN retired_by bigint REFERENCES staff,
    ADD CONSTRAINT signing_key_retired_check CHECK (retired_at IS NOT NULL OR retired_by IS NULL);

-- +goose Down
ALTER TABLE signing_key DROP CONSTRAINT signing_key_retired_check, DROP COLUMN retired_by, DROP COLUMN made_by;
DROP TRIGGER warranty_card_fixed ON warranty_card;
DROP FUNCTION warranty_card_fixed;
DROP INDEX warranty_card_key_idx;
ALTER TABLE warranty_card DROP CONSTRAINT warranty_card_void_check;
-- Payloads hold bytes that text can't: there is no way back for cards that were issued.
DELETE FROM warranty_card;
ALTER TABLE warranty_card ALTER COLUMN payload TYPE text USING '';
ALTER TABLE warranty_card RENAME COLUMN payload TO facts;
-- +goose StatementBegin
CREATE FUNCTION warranty_card_fixed() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP = 'DELETE'
       OR (NEW.docket_id, NEW.code, NEW.facts, NEW.key_id, NEW.signature, NEW.issued_at, NEW.issued_by)
          IS DISTINCT FROM
          (OLD.docket_id, OLD.code, OLD.facts, OLD.key_id, OLD.signature, OLD.issued_at, OLD.issued_by)
       OR NEW.supersedes IS DISTINCT FROM OLD.supersedes
       OR (OLD.voided_at IS NOT NULL AND NEW.voided_at IS DISTINCT FROM OLD.voided_at) THEN
        RAISE EXCEPTION 'a warranty card is never edited' USING ERRCODE = 'integrity_constraint_violation';
    END IF;
    RETURN NEW;
END $$;
-- +goose StatementEnd
CREATE TRIGGER warranty_card_fixed BEFORE UPDATE OR DELETE ON warranty_card
    FOR EACH ROW EXECUTE FUNCTION warranty_card_fixed();
