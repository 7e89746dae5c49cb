"""Into the tool: tables and certificates, read leniently, shown to a person before they count."""
