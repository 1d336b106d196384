"""What tools that people have already can read: calendars, maps, spreadsheets."""
