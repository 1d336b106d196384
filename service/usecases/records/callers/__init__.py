"""Who may call: firms, their keys, their sessions and the links that begin one."""
