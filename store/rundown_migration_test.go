package store_test

import (
	"testing"
)

// Run-downs from before they were parts of runs: one that was kept as a final run, and one among the readings of a run. A
// docket that left the shop keeps what it was handed out with.
func TestOldRunDownsBecomePartsOfRuns(t *testing.T) {
	t.Parallel()
	_, conn := migratedOver(t, 199, oldDocketSQL, `DO $$
		DECLARE d bigint; st bigint; r bigint; h bigint; hrs float8; k int;
		BEGIN
			SELECT id INTO st FROM staff LIMIT 1;
			FOR d IN SELECT id FROM docket ORDER BY id LOOP
				INSERT INTO run (docket_id, kind, instrument_ppm, taken_at, by_id, states) VALUES (d, 'after service', 1, now(), st, '{0,24}')
					RETURNING id INTO r;
				INSERT INTO reading (run_id, position, hours, rate_s_per_day, rate_half_width, taken_at, by_id)
					SELECT r, p, h0, 5, 0.5, now(), st FROM unnest(ARRAY['CH','6H']) p, unnest(ARRAY[0,24.0]) h0;
				FOR k IN 1..2 LOOP
					IF k = 2 THEN
						INSERT INTO run (docket_id, kind, instrument_ppm, taken_at, by_id, states) VALUES (d, 'final', 1, now(), st, '{3,9}')
							RETURNING id INTO r;
					ELSE
						UPDATE run SET states = '{0,3,9,24}' WHERE id = r;
					END IF;
					FOREACH hrs IN ARRAY ARRAY[3.0, 9.0] LOOP
						INSERT INTO heard (docket_id, run_id, position, hours, recorder, clock_std_ppm, facts, kept_at, by_id)
							VALUES (d, r, 'CH', hrs, 'mic', 1, '{"piece": {"at_s": 1}}', now(), st) RETURNING id INTO h;
						INSERT INTO reading (run_id, position, hours, rate_s_per_day, rate_half_width, taken_at, by_id, heard_id)
							VALUES (r, 'CH', hrs, 5, 0.5, now(), st, h);
					END LOOP;
				END LOOP;
			END LOOP;
			UPDATE docket SET stage = 'handed-over' WHERE id = (SELECT max(id) FROM docket);
			UPDATE docket SET stage = 'regulation' WHERE id = (SELECT min(id) FROM docket);
		END $$`)
	for _, tt := range []struct{ of, want string }{
		{"min", "after service {0,24} 4 null, run-down {3,9} 2 1, run-down {3,9} 2 1"},
		{"max", "after service {0,3,9,24} 6 null, final {3,9} 2 null"},
	} {
		var got string
		if err := conn.QueryRow(t.Context(), `SELECT string_agg(concat_ws(' ', kind, states, (SELECT count(*) FROM reading g
				WHERE g.run_id = r.id AND (g.heard_id IS NULL OR EXISTS (SELECT FROM heard h WHERE h.id = g.heard_id AND h.run_id = r.id))),
				coalesce((r.of_run_id - (SELECT min(id) FROM run o WHERE o.docket_id = r.docket_id) + 1)::text, 'null')), ', ' ORDER BY kind, id)
			FROM run r WHERE docket_id = (SELECT `+tt.of+`(id) FROM docket)`).Scan(&got); err != nil || got != tt.want {
			t.Errorf("%s: %s, %v; want %s", tt.of, got, err, tt.want)
		}
	}
}
