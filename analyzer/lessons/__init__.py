"""The lessons step: what caused what is outside or close, and what to try, by flying the reversal again in the wind."""
