"""The amplifier as a circuit: elements, ladder, stage, closed-form tuning."""
