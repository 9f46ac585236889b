"""20 °C, uncertainty budgets after the GUM, calibration, decision rules."""
