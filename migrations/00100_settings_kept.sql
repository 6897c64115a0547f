-- The shop's settings as they stood: each saving makes a version, and each document names the one it was made under.
--
-- Which settings stood before this is not known: no journal ever said them. The settings as they stand now become
-- version 1, made by nobody in particular at the time of this migration, and every document that was made before names
-- it; by that it goes on saying what it says today. What is known otherwise stays where it stands: a card's shop, place,
-- term and words in what was signed, the rule of a run and of an ended trial beside their verdicts, the tax of an
-- estimate in its lines. Trials that run or were abandoned show the shop's rule and time today, and keep both.

-- +goose Up
CREATE TABLE shop_version (
    id                 bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    name               text NOT NULL,
    address            text NOT NULL,
    phone              text NOT NULL,
    email              text NOT NULL,
    time_zone          text NOT NULL,
    locale             text NOT NULL,
    phone_region       text NOT NULL,
    currency           text NOT NULL,
    tax_name           text NOT NULL,
    tax_basis_points   integer NOT NULL,
    prices_include_tax boolean NOT NULL,
    decision_rule      text NOT NULL,
    instrument         text NOT NULL,
    instrument_ppm     double precision NOT NULL,
    warranty_months    integer NOT NULL,
    warranty_covers    text NOT NULL,
    ticket_terms       text NOT NULL,
    estimate_days      integer NOT NULL,
    made_at            timestamptz NOT NULL,
    made_by            bigint REFERENCES staff
);
COMMENT ON TABLE shop_version IS 'the settings of table shop each time they were saved; the newest are those of today, and none is ever changed. Columns mean what they mean there';
COMMENT ON COLUMN shop_version.made_by IS 'who saved them; null for what stood when versions began to be kept';
INSERT INTO shop_version (name, address, phone, email, time_zone, locale, phone_region, currency, tax_name,
        tax_basis_points, prices_include_tax, decision_rule, instrument, instrument_ppm, warranty_months, warranty_covers,
        ticket_terms, estimate_days, made_at)
    SELECT name, address, phone, email, time_zone, locale, phone_region, currency, tax_name,
        tax_basis_points, prices_include_tax, decision_rule, instrument, instrument_ppm, warranty_months, warranty_covers,
        ticket_terms, estimate_days, now() FROM shop;
-- +goose StatementBegin
CREATE FUNCTION shop_version_kept() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'settings stay as they stood; a change is a new version' USING ERRCODE = 'integrity_constraint_violation';
END $$;
-- +goose StatementEnd
CREATE TRIGGER shop_version_no_change BEFORE UPDATE OR DELETE ON shop_version
    FOR EACH ROW EXECUTE FUNCTION shop_version_kept();
CREATE TRIGGER shop_version_no_truncate BEFORE TRUNCATE ON shop_version
    FOR EACH STATEMENT EXECUTE FUNCTION shop_version_kept();

ALTER TABLE docket
    ADD taken_in_under bigint REFERENCES shop_version,
    ADD billed_under   bigint REFERENCES shop_version,
    ADD left_under     bigint REFERENCES shop_version;
COMMENT ON COLUMN docket.taken_in_under IS 'settings that ticket and label are printed by';
COMMENT ON COLUMN docket.billed_under IS 'settings that the invoice is printed by: those when the watch became ready, money was first charged or taken, or the watch left, whichever was first; null before';
COMMENT ON COLUMN docket.left_under IS 'settings when the watch left; null before';
UPDATE docket d SET taken_in_under = v.id,
        left_under = CASE WHEN d.handed_back_at IS NOT NULL THEN v.id END,
        billed_under = CASE WHEN d.handed_back_at IS NOT NULL OR d.stage = 'ready' OR EXISTS (SELECT FROM journal j
            WHERE j.docket_id = d.id AND j.kind IN ('charged', 'paid', 'refunded')) THEN v.id END
    FROM shop_version v;

ALTER TABLE estimate_revision ADD sent_under bigint REFERENCES shop_version;
COMMENT ON COLUMN estimate_revision.sent_under IS 'settings that it is shown and printed by; null until it is sent';
UPDATE estimate_revision SET sent_under = v.id FROM shop_version v WHERE sent_at IS NOT NULL;

ALTER TABLE warranty_card ADD issued_under bigint REFERENCES shop_version;
COMMENT ON COLUMN warranty_card.issued_under IS 'settings for what its faces print besides what was signed: address, telephone, language';
UPDATE warranty_card SET issued_under = v.id FROM shop_version v;
-- +goose StatementBegin
CREATE OR REPLACE FUNCTION warranty_card_fixed() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP = 'DELETE'
       OR (NEW.id, NEW.docket_id, NEW.code, NEW.payload, NEW.key_id, NEW.signature, NEW.issued_at, NEW.issued_by)
          IS DISTINCT FROM
          (OLD.id, OLD.docket_id, OLD.code, OLD.payload, OLD.key_id, OLD.signature, OLD.issued_at, OLD.issued_by)
       OR NEW.supersedes IS DISTINCT FROM OLD.supersedes
       OR NEW.issued_under IS DISTINCT FROM OLD.issued_under
       OR OLD.voided_at IS NOT NULL AND (NEW.voided_at, NEW.voided_by, NEW.void_reason)
          IS DISTINCT FROM (OLD.voided_at, OLD.voided_by, OLD.void_reason) THEN
        RAISE EXCEPTION 'a warranty card is never edited' USING ERRCODE = 'integrity_constraint_violation';
    END IF;
    RETURN NEW;
END $$;
-- +goose StatementEnd

ALTER TABLE run ADD written_under bigint REFERENCES shop_version;
COMMENT ON COLUMN run.written_under IS 'settings that its bulletin is printed by: those when it was last written or judged';
UPDATE run SET written_under = v.id FROM shop_version v;

ALTER TABLE trial
    ADD time_zone     text NOT NULL DEFAULT 'UTC',
    ADD written_under bigint REFERENCES shop_version;
COMMENT ON COLUMN trial.time_zone IS 'IANA name; first_day and reading_minute are by its clock, from the first day to the last';
COMMENT ON COLUMN trial.simple_rule IS 'rule it is judged by, from the first day to the last: simple acceptance, else with a guard band';
COMMENT ON COLUMN trial.reading_minute IS 'minutes after midnight at which the watch is read and wound, by the clock of time_zone';
COMMENT ON COLUMN trial.written_under IS 'settings whose name, address and language its bulletin is printed by: those of its first day while it runs, then those of its end';
UPDATE trial SET time_zone = v.time_zone,
        simple_rule = CASE WHEN state = 'ended' THEN simple_rule ELSE v.decision_rule = 'simple' END, written_under = v.id
    FROM shop_version v;

-- +goose Down
ALTER TABLE trial DROP written_under, DROP time_zone;
ALTER TABLE run DROP written_under;
-- +goose StatementBegin
CREATE OR REPLACE FUNCTION warranty_card_fixed() RETURNS trigger LANGUAGE plpgsql AS $$
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
ALTER TABLE warranty_card DROP issued_under;
ALTER TABLE estimate_revision DROP sent_under;
ALTER TABLE docket DROP left_under, DROP billed_under, DROP taken_in_under;
DROP TABLE shop_version;
DROP FUNCTION shop_version_kept;
