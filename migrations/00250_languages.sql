-- In which language papers are made: of a docket from its taking in, of an estimate as it was sent, of a card as it was
-- issued. Null is English, the only one before; so what was handed out goes on saying what it said.

-- +goose Up
ALTER TABLE docket ADD COLUMN tongue text CHECK (tongue IN ('en', 'de', 'fr'));
COMMENT ON COLUMN docket.tongue IS 'ISO 639-1 code of the language of the papers that the customer gets; null where none was chosen, which is English';
ALTER TABLE estimate_revision ADD COLUMN tongue text CHECK (tongue IN ('en', 'de', 'fr'));
COMMENT ON COLUMN estimate_revision.tongue IS 'language in which it was sent; null before, and for what was sent before languages: English';
ALTER TABLE warranty_card ADD COLUMN tongue text CHECK (tongue IN ('en', 'de', 'fr'));
COMMENT ON COLUMN warranty_card.tongue IS 'language in which the card is printed; null is English';

ALTER TABLE shop ADD COLUMN ticket_terms_en text, ADD COLUMN ticket_terms_de text, ADD COLUMN ticket_terms_fr text,
    ADD COLUMN warranty_covers_en text, ADD COLUMN warranty_covers_de text, ADD COLUMN warranty_covers_fr text;
ALTER TABLE shop_version ADD COLUMN ticket_terms_en text, ADD COLUMN ticket_terms_de text, ADD COLUMN ticket_terms_fr text,
    ADD COLUMN warranty_covers_en text, ADD COLUMN warranty_covers_de text, ADD COLUMN warranty_covers_fr text;
COMMENT ON COLUMN shop.ticket_terms_de IS 'ticket_terms for customers who are spoken to in German; null to give them those';

DROP TRIGGER record_written_update ON docket;
-- +goose StatementBegin
DO $$
BEGIN
    EXECUTE format('CREATE TRIGGER record_written_update AFTER UPDATE OF %s ON docket FOR EACH ROW EXECUTE FUNCTION record_written(%L, %L)',
        (SELECT string_agg(quote_ident(attname), ', ' ORDER BY attnum) FROM pg_attribute WHERE attrelid = 'docket'::regclass
            AND attnum > 0 AND NOT attisdropped AND attgenerated = '' AND attname NOT IN ('version', 'head_hash')), 'id', 'version,head_hash');
END $$;
-- +goose StatementEnd

-- +goose Down
DROP TRIGGER record_written_update ON docket;
ALTER TABLE docket DROP COLUMN tongue;
ALTER TABLE estimate_revision DROP COLUMN tongue;
ALTER TABLE warranty_card DROP COLUMN tongue;
ALTER TABLE shop DROP COLUMN ticket_terms_en, DROP COLUMN ticket_terms_de, DROP COLUMN ticket_terms_fr,
    DROP COLUMN warranty_covers_en, DROP COLUMN warranty_covers_de, DROP COLUMN warranty_covers_fr;
ALTER TABLE shop_version DROP COLUMN ticket_terms_en, DROP COLUMN ticket_terms_de, DROP COLUMN ticket_terms_fr,
    DROP COLUMN warranty_covers_en, DROP COLUMN warranty_covers_de, DROP COLUMN warranty_covers_fr;
-- +goose StatementBegin
DO $$
BEGIN
    EXECUTE format('CREATE TRIGGER record_written_update AFTER UPDATE OF %s ON docket FOR EACH ROW EXECUTE FUNCTION record_written(%L, %L)',
        (SELECT string_agg(quote_ident(attname), ', ' ORDER BY attnum) FROM pg_attribute WHERE attrelid = 'docket'::regclass
            AND attnum > 0 AND NOT attisdropped AND attgenerated = '' AND attname NOT IN ('version', 'head_hash')), 'id', 'version,head_hash');
END $$;
-- +goose StatementEnd
