"""What lies in hold bays: as kept, as asked about today, as brought on."""
