"""A folder that gets each closed job's chosen exports by itself."""
