-- +goose Up
-- A visit: the watches that one customer brings at once. They go onto one claim ticket, and each has a docket of its own.

CREATE TABLE visit (
    id       bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    began_at timestamptz NOT NULL,
    began_by bigint NOT NULL REFERENCES staff
);
COMMENT ON TABLE visit IS 'watches that one customer brought at once; whose they are the dockets say';
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON visit FOR EACH ROW EXECUTE FUNCTION record_written('id', '');

ALTER TABLE docket ADD COLUMN visit_id bigint REFERENCES visit;
COMMENT ON COLUMN docket.visit_id IS 'null for a watch taken in before visits were kept';
CREATE INDEX docket_visit_idx ON docket (visit_id, id) WHERE visit_id IS NOT NULL;

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
ALTER TABLE docket DROP COLUMN visit_id;
-- +goose StatementBegin
DO $$
BEGIN
    EXECUTE format('CREATE TRIGGER record_written_update AFTER UPDATE OF %s ON docket FOR EACH ROW EXECUTE FUNCTION record_written(%L, %L)',
        (SELECT string_agg(quote_ident(attname), ', ' ORDER BY attnum) FROM pg_attribute WHERE attrelid = 'docket'::regclass
            AND attnum > 0 AND NOT attisdropped AND attgenerated = '' AND attname NOT IN ('version', 'head_hash')), 'id', 'version,head_hash');
END $$;
-- +goose StatementEnd
DROP TABLE visit;
