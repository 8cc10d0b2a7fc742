"""What every view is made of: drawings, tables, pages, sections, coloured fields."""
