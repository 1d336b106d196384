"""What is in force when: dated, sourced values and the lookup that picks one by day."""
