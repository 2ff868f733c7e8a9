"""What results say about students, questions and the class."""
