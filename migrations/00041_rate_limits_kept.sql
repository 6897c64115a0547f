-- A version of rate limits is never edited: dockets and papers were judged by it.

-- +goose Up
-- +goose StatementBegin
CREATE FUNCTION rate_limits_kept() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'a version of rate limits stays as it was published' USING ERRCODE = 'integrity_constraint_violation';
END $$;
-- +goose StatementEnd
CREATE TRIGGER rate_limits_no_change BEFORE UPDATE OR DELETE ON rate_limits
    FOR EACH ROW EXECUTE FUNCTION rate_limits_kept();

-- +goose Down
DROP TRIGGER rate_limits_no_change ON rate_limits;
DROP FUNCTION rate_limits_kept;
