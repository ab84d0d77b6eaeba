"""The table as one sheet: a wine a row, a fact a column, written and read without loss."""
