-- +goose Up
-- Firms, and the order number that a firm gives its order.

ALTER TABLE customer ADD COLUMN firm boolean;
COMMENT ON COLUMN customer.firm IS 'a firm, whose orders have numbers of their own; null where nobody said';
ALTER TABLE docket ADD COLUMN order_number text CHECK (order_number <> '');
COMMENT ON COLUMN docket.order_number IS 'the customer''s own; null for none';
CREATE INDEX docket_order_number_idx ON docket (lower(order_number), id) WHERE order_number IS NOT NULL;

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
ALTER TABLE docket DROP COLUMN order_number;
ALTER TABLE customer DROP COLUMN firm;
-- +goose StatementBegin
DO $$
BEGIN
    EXECUTE format('CREATE TRIGGER record_written_update AFTER UPDATE OF %s ON docket FOR EACH ROW EXECUTE FUNCTION record_written(%L, %L)',
        (SELECT string_agg(quote_ident(attname), ', ' ORDER BY attnum) FROM pg_attribute WHERE attrelid = 'docket'::regclass
            AND attnum > 0 AND NOT attisdropped AND attgenerated = '' AND attname NOT IN ('version', 'head_hash')), 'id', 'version,head_hash');
END $$;
-- +goose StatementEnd
