"""An invented study, complete enough to copy from, and the starter files of a new one."""
