-- What is known of a calibre's balance, so that advice can say how much to remove and how far to turn.

-- +goose Up
ALTER TABLE calibre
    ADD COLUMN balance_inertia_mg_cm2  double precision CHECK (balance_inertia_mg_cm2 > 0),
    ADD COLUMN balance_diameter_mm     double precision CHECK (balance_diameter_mm > 0),
    ADD COLUMN impulse_jewel_hour      double precision CHECK (impulse_jewel_hour > 0 AND impulse_jewel_hour <= 12),
    ADD COLUMN stud_radius_mm          double precision CHECK (stud_radius_mm > 0),
    ADD COLUMN regulator_step_s_per_day double precision CHECK (regulator_step_s_per_day > 0),
    ADD COLUMN screw_count             smallint CHECK (screw_count BETWEEN 2 AND 24),
    ADD COLUMN screw_first_deg         double precision CHECK (screw_first_deg >= 0 AND screw_first_deg < 360),
    ADD COLUMN screw_radius_mm         double precision CHECK (screw_radius_mm > 0),
    ADD COLUMN screw_mass_ug           double precision CHECK (screw_mass_ug > 0),
    ADD COLUMN screw_travel_mm         double precision CHECK (screw_travel_mm > 0);
COMMENT ON COLUMN calibre.balance_inertia_mg_cm2 IS 'moment of inertia of the balance, mg·cm²';
COMMENT ON COLUMN calibre.balance_diameter_mm IS 'of the rim where weight is taken off, mm';
COMMENT ON COLUMN calibre.impulse_jewel_hour IS 'hour of the dial, seen from the dial side, to which the impulse jewel points at rest';
COMMENT ON COLUMN calibre.stud_radius_mm IS 'from the balance staff to the stud, mm';
COMMENT ON COLUMN calibre.regulator_step_s_per_day IS 'change of rate for one division of the regulator, s/d';
COMMENT ON COLUMN calibre.screw_count IS 'timing screws or weights, equal and evenly spaced';
COMMENT ON COLUMN calibre.screw_first_deg IS 'the first of them from the impulse jewel, clockwise seen from the balance side, degrees';
COMMENT ON COLUMN calibre.screw_radius_mm IS 'from the balance staff to a screw''s centre of mass, mm';
COMMENT ON COLUMN calibre.screw_mass_ug IS 'of one screw, µg';
COMMENT ON COLUMN calibre.screw_travel_mm IS 'outward travel of a screw for one turn, mm';

-- +goose Down
ALTER TABLE calibre
    DROP COLUMN balance_inertia_mg_cm2, DROP COLUMN balance_diameter_mm, DROP COLUMN impulse_jewel_hour,
    DROP COLUMN stud_radius_mm, DROP COLUMN regulator_step_s_per_day, DROP COLUMN screw_count, DROP COLUMN screw_first_deg,
    DROP COLUMN screw_radius_mm, DROP COLUMN screw_mass_ug, DROP COLUMN screw_travel_mm;
