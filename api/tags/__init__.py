"""What is printed as QR codes and held up to a camera: tags of jobs, badges of people."""
