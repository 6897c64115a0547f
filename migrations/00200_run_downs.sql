-- A run-down is part of the run after which it was heard, and no run of its own: as a run it hid what the readings in six
-- positions had shown. Those that were kept as runs, or among the readings of one, become run-downs on every docket that is
-- still in the shop; what left the shop stays as it was handed out.

-- +goose Up
ALTER TABLE run
    DROP CONSTRAINT run_kind_check,
    ADD CONSTRAINT run_kind_check CHECK (kind IN ('as received', 'after service', 'adjustment', 'final', 'run-down')),
    ADD COLUMN of_run_id       bigint REFERENCES run CHECK (of_run_id IS NULL OR kind = 'run-down'),
    ADD COLUMN power_reserve_h double precision CHECK (power_reserve_h > 0);
COMMENT ON COLUMN run.of_run_id IS 'of a run-down: the run that it belongs to; null where none was taken before';
COMMENT ON COLUMN run.power_reserve_h IS 'of a run-down: hours after winding when it was heard to stop; null where it was not';
CREATE INDEX run_of_run_idx ON run (of_run_id) WHERE of_run_id IS NOT NULL;

-- +goose StatementBegin
DO $$
DECLARE
    down record;
    new_id bigint;
BEGIN
    CREATE TEMP TABLE piece ON COMMIT DROP AS
        SELECT g.run_id, g.position, g.hours, g.heard_id
        FROM reading g JOIN heard h ON h.id = g.heard_id JOIN run r ON r.id = g.run_id JOIN docket d ON d.id = r.docket_id
        WHERE h.facts::jsonb ? 'piece' AND d.stage <> 'handed-over'
            AND NOT EXISTS (SELECT FROM reading a WHERE a.run_id = g.run_id AND a.position = g.position AND a.hours = g.hours
                AND a.again > 0);
    -- Runs of nothing else.
    UPDATE run r SET kind = 'run-down', ordinal = 0, touched = '{}', outcome = '', rate_limits_id = NULL, version = version + 1
    WHERE EXISTS (SELECT FROM piece p WHERE p.run_id = r.id)
        AND NOT EXISTS (SELECT FROM reading g WHERE g.run_id = r.id
            AND NOT EXISTS (SELECT FROM piece p WHERE (p.run_id, p.position, p.hours) = (g.run_id, g.position, g.hours)));
    UPDATE run r SET of_run_id = (SELECT max(o.id) FROM run o WHERE o.docket_id = r.docket_id AND o.id < r.id AND o.kind <> 'run-down')
    WHERE kind = 'run-down';
    DELETE FROM piece p USING run r WHERE r.id = p.run_id AND r.kind = 'run-down';
    -- Those among other readings go to a run-down of their own.
    FOR down IN SELECT DISTINCT run_id, position FROM piece LOOP
        INSERT INTO run (docket_id, kind, note, instrument, instrument_ppm, temperature_c, states, taken_at, by_id, lift_angle_deg,
                lift_angle_u95_deg, written_under, of_run_id)
            SELECT docket_id, 'run-down', '', instrument, instrument_ppm, temperature_c,
                (SELECT array_agg(hours ORDER BY hours) FROM piece p WHERE p.run_id = down.run_id AND p.position = down.position),
                taken_at, by_id, lift_angle_deg, lift_angle_u95_deg, written_under, id
            FROM run WHERE id = down.run_id
            RETURNING id INTO new_id;
        UPDATE heard SET run_id = new_id WHERE id IN
            (SELECT heard_id FROM piece p WHERE p.run_id = down.run_id AND p.position = down.position);
        UPDATE reading g SET run_id = new_id FROM piece p
            WHERE p.run_id = down.run_id AND p.position = down.position AND g.run_id = p.run_id AND g.position = p.position
                AND g.hours = p.hours;
        UPDATE run r SET version = version + 1, states = coalesce((SELECT array_agg(s ORDER BY s) FROM unnest(r.states) s
                WHERE EXISTS (SELECT FROM reading g WHERE g.run_id = r.id AND g.hours = s)
                    OR NOT EXISTS (SELECT FROM piece p WHERE p.run_id = r.id AND p.hours = s)), '{0}')
            WHERE r.id = down.run_id;
    END LOOP;
END $$;
-- +goose StatementEnd

-- +goose Down
UPDATE run SET of_run_id = NULL, kind = 'adjustment' WHERE kind = 'run-down';
ALTER TABLE run
    DROP COLUMN power_reserve_h,
    DROP COLUMN of_run_id,
    DROP CONSTRAINT run_kind_check,
    ADD CONSTRAINT run_kind_check CHECK (kind IN ('as received', 'after service', 'adjustment', 'final'));
