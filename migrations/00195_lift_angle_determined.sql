-- A lift angle that somebody determined has an uncertainty and a way it came about. A run keeps the lift angle it was
-- judged with, so that its verdict stays what it was when the calibre is corrected.

-- +goose Up
ALTER TABLE calibre
    ADD COLUMN lift_angle_u95_deg double precision CHECK (lift_angle_u95_deg > 0),
    ADD COLUMN lift_angle_how     text NOT NULL DEFAULT '';
COMMENT ON COLUMN calibre.lift_angle_u95_deg IS 'expanded uncertainty (k = 2) of lift_angle_deg, degrees; null where nobody determined it';
COMMENT ON COLUMN calibre.lift_angle_how IS 'how the lift angle was determined, in words';
ALTER TABLE run
    ADD COLUMN lift_angle_deg     double precision CHECK (lift_angle_deg > 0),
    ADD COLUMN lift_angle_u95_deg double precision CHECK (lift_angle_u95_deg > 0);
COMMENT ON COLUMN run.lift_angle_deg IS 'of the calibre when the run was judged, degrees; null where it was not known';
COMMENT ON COLUMN run.lift_angle_u95_deg IS 'its expanded uncertainty (k = 2), degrees; null where nobody determined it';

-- +goose Down
ALTER TABLE run DROP COLUMN lift_angle_deg, DROP COLUMN lift_angle_u95_deg;
ALTER TABLE calibre DROP COLUMN lift_angle_u95_deg, DROP COLUMN lift_angle_how;
