-- A card's code holds its facts with a signature of their own. Cards issued before have none and are checked by number.

-- +goose Up
ALTER TABLE warranty_card ADD COLUMN proof bytea CHECK (length(proof) > 64);
COMMENT ON COLUMN warranty_card.proof IS 'what the code on the card states, with its signature, as printed; null for cards from before codes stated anything';

-- +goose StatementBegin
CREATE FUNCTION warranty_card_proof_fixed() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF NEW.proof IS DISTINCT FROM OLD.proof THEN
        RAISE EXCEPTION 'a warranty card is never edited' USING ERRCODE = 'integrity_constraint_violation';
    END IF;
    RETURN NEW;
END $$;
-- +goose StatementEnd
CREATE TRIGGER warranty_card_proof_fixed BEFORE UPDATE ON warranty_card
    FOR EACH ROW EXECUTE FUNCTION warranty_card_proof_fixed();

-- +goose Down
DROP TRIGGER warranty_card_proof_fixed ON warranty_card;
DROP FUNCTION warranty_card_proof_fixed;
ALTER TABLE warranty_card DROP COLUMN proof;
