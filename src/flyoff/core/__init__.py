"""The vocabulary shared by every stage: units, quantities, sources, problems, figures, draws."""
