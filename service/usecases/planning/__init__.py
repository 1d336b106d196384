"""Plan a day, keep the plan, suppose another one."""
