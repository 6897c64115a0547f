-- +goose Up
-- Who owes what was billed, kept in the transaction of each document and payment, so that nothing is added up when it is looked at.

CREATE TABLE docket_owed (
    docket_id  bigint PRIMARY KEY REFERENCES docket,
    currency   text NOT NULL CHECK (length(currency) = 3),
    owed_minor bigint NOT NULL CHECK (owed_minor > 0),
    since      date NOT NULL
);
COMMENT ON TABLE docket_owed IS 'dockets whose documents come to more than was paid, worked out from these';
COMMENT ON COLUMN docket_owed.since IS 'the day to which its first document is booked';

-- +goose StatementBegin
CREATE FUNCTION docket_owed_again(of_docket bigint) RETURNS void LANGUAGE plpgsql AS $$
DECLARE
    owed bigint;
    first date;
BEGIN
    SELECT sum(CASE kind WHEN 'credit-note' THEN -gross_minor ELSE gross_minor END), min(booked_on) INTO owed, first
        FROM invoice WHERE docket_id = of_docket;
    owed := owed - coalesce((SELECT sum(minor - coalesce(rounded_minor, 0)) FROM payment WHERE docket_id = of_docket), 0);
    IF owed > 0 THEN
        INSERT INTO docket_owed SELECT id, currency, owed, first FROM docket WHERE id = of_docket
            ON CONFLICT (docket_id) DO UPDATE SET owed_minor = excluded.owed_minor, since = excluded.since;
    ELSE
        DELETE FROM docket_owed WHERE docket_id = of_docket;
    END IF;
END $$;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE FUNCTION docket_owed_changed() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    PERFORM docket_owed_again(coalesce(NEW.docket_id, OLD.docket_id));
    RETURN NULL;
END $$;
-- +goose StatementEnd
CREATE TRIGGER docket_owed_changed AFTER INSERT OR UPDATE OR DELETE ON invoice FOR EACH ROW EXECUTE FUNCTION docket_owed_changed();
CREATE TRIGGER docket_owed_changed AFTER INSERT OR UPDATE OR DELETE ON payment FOR EACH ROW EXECUTE FUNCTION docket_owed_changed();

INSERT INTO docket_owed
    SELECT d.id, d.currency, i.minor - coalesce(p.minor, 0), i.first
    FROM (SELECT docket_id, sum(CASE kind WHEN 'credit-note' THEN -gross_minor ELSE gross_minor END) AS minor, min(booked_on) AS first FROM invoice GROUP BY docket_id) i
    JOIN docket d ON d.id = i.docket_id
    LEFT JOIN (SELECT docket_id, sum(minor - coalesce(rounded_minor, 0)) AS minor FROM payment GROUP BY docket_id) p ON p.docket_id = d.id
    WHERE i.minor > coalesce(p.minor, 0);

-- +goose Down
DROP TRIGGER docket_owed_changed ON payment;
DROP TRIGGER docket_owed_changed ON invoice;
DROP FUNCTION docket_owed_changed;
DROP FUNCTION docket_owed_again;
DROP TABLE docket_owed;
