"""Optional download of weather records; needs the extra `fetch`. Nothing else goes on line."""
